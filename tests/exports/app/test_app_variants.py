"""Variants in the app: opened, changed, taken back, compared, saved; the set's own text is the truth throughout."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from fastapi.testclient import TestClient
from hypothesis import given, settings
from hypothesis import strategies as st

from planestock.exports.app import documents
from planestock.exports.app.evaluation import evaluate
from planestock.exports.app.form import form
from planestock.exports.app.history import History, Step
from planestock.exports.app.retyped import command
from planestock.exports.app.states import Source
from planestock.params.catalogue import catalogue
from planestock.params.files import changed as changed_values
from planestock.params.files import load, parsed, shipped
from planestock.params.parsing import parameter_set
from planestock.params.problems import InputProblem
from planestock.params.tools import TOOLS
from tests.params.traced.test_sets_with_drawings import folder_with
from tests.support.app_support import app, changed, jack, opened, settled

JACK = shipped()["jack"]


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    with app(tmp_path) as found:
        yield found


# ---- the form ----------------------------------------------------------------------------------------------------------


def paths_of(groups: list[dict]) -> Iterator[str]:  # type: ignore[type-arg]
    for group in groups:
        yield from (field["path"] for field in group["fields"])
        yield from paths_of(group["groups"])


def test_the_form_has_every_declared_field_once_in_the_order_of_the_bench() -> None:
    declared = [one.path.replace("[]", ".[]") for one in catalogue()]
    found = list(paths_of(form()))
    assert sorted(found) == sorted(declared)
    groups = [path.split(".")[0] for path in declared if "." in path]
    assert [group["path"] for group in form()][1:] == list(dict.fromkeys(groups))


def test_every_field_of_the_form_says_how_to_fill_it() -> None:
    def fields(groups: list[dict]) -> Iterator[dict]:  # type: ignore[type-arg]
        for group in groups:
            yield from group["fields"]
            yield from fields(group["groups"])

    for field in fields(form()):
        assert field["title"], field
        assert field["how"].endswith("."), field
        if field["kind"] in ("reading", "readings"):
            assert " to " in field["bounds"]["mm"], field
            assert "e-" not in field["bounds"]["in"], field


# ---- changes -----------------------------------------------------------------------------------------------------------


def test_what_is_typed_is_kept_as_typed_and_comments_stay() -> None:
    text = documents.written(JACK, "iron.width", "50.80")
    assert "width = 50.80\n" in text
    assert text.splitlines()[0] == JACK.splitlines()[0]
    assert documents.written(JACK, "iron.width", "1-5/8 in").count('width = "1-5/8 in"') == 1


@pytest.mark.parametrize(
    ("typed", "means"),
    [
        ("51", 51),
        ("+51.5", 51.5),
        ("51.0 ± 0.05 mm", "51.0 ± 0.05 mm"),
        ("51; 51.1 ; 50.9", [51, 51.1, 50.9]),
        ("0x33", "0x33"),
        ("1e3", "1e3"),
        ("true", "true"),
        ("nan", "nan"),
        ("9" * 60, "9" * 60),
    ],
)
def test_a_reading_is_written_as_number_text_or_list(typed: str, means: object) -> None:
    assert tomllib.loads(documents.written(JACK, "iron.width", typed))["iron"]["width"] == means


def test_a_name_made_of_digits_stays_a_text() -> None:
    assert tomllib.loads(documents.written(JACK, "name", "605"))["name"] == "605"


def test_nothing_typed_leaves_a_field_out_whether_it_was_there_or_not() -> None:
    without = documents.written(JACK, "iron.length", " ")
    assert "length" not in tomllib.loads(without)["iron"]
    assert documents.written(without, "iron.length", "") == without
    assert documents.written(JACK, "wood.worked.moisture", "") == JACK


def test_groups_and_items_come_and_go() -> None:
    text = documents.added(documents.taken_out(JACK, "tote"), "frog.screws")
    values = tomllib.loads(documents.written(documents.added(text, "bench"), "frog.screws.2.along", "-5"))
    assert "tote" not in values
    assert values["bench"] == {}
    assert values["frog"]["screws"][2] == {"along": -5}
    assert len(tomllib.loads(documents.taken_out(text, "frog.screws.0"))["frog"]["screws"]) == 2


def test_a_group_inside_braces_is_written_inside_braces() -> None:
    text = documents.written('wood = { species = "oak, white" }\n', "wood.dry.humidity", "40")
    assert tomllib.loads(text) == {"wood": {"species": "oak, white", "dry": {"humidity": 40}}}
    assert documents.added("frog = { width = 40 }\n[[other]]\n", "frog.screws").startswith("frog = {")


@pytest.mark.parametrize(
    ("do", "path"),
    [
        ("write", "iron.widht"),
        ("write", "iron"),
        ("write", "frog.screws.7.along"),
        ("write", ""),
        ("add", "iron.width"),
        ("add", "frog.screws.0"),
        ("add", "frog.screws.7"),
        ("take_out", "iron.nothing"),
        ("take_out", "frog.screws.9"),
        ("take_out", "a.b.c.d.e.f.g.h.i.j"),
    ],
)
def test_a_path_that_leads_nowhere_is_refused(do: str, path: str) -> None:
    deeds = {"add": documents.added, "take_out": documents.taken_out}
    with pytest.raises(InputProblem):
        _ = deeds[do](JACK, path) if do in deeds else documents.written(JACK, path, "5")


def test_a_value_where_a_group_should_be_is_no_way_in() -> None:
    with pytest.raises(InputProblem, match="leads nowhere"):
        documents.written("iron = 5\n", "iron.width", "51")


@given(typed=st.text(max_size=60), path=st.sampled_from(["iron.width", "name", "note", "body.edge", "body.dowels.count"]))
@settings(max_examples=60)
def test_anything_typed_gives_toml_that_reads_back(typed: str, path: str) -> None:
    text = documents.written(JACK, path, typed)
    group, _, name = path.rpartition(".")
    found = tomllib.loads(text)
    for part in filter(None, group.split(".")):
        found = found[part]
    if path in ("name", "note"):
        assert found.get(name, "") == (typed if typed.strip() else "")
    evaluate(text)


@given(data=st.data())
@settings(max_examples=40)
def test_the_command_line_makes_the_set_on_the_screen(data: st.DataObject) -> None:
    plain = [one.path for one in catalogue() if "[]" not in one.path and one.quantity is not None]
    chosen = data.draw(st.lists(st.sampled_from(plain), min_size=1, max_size=3, unique=True))
    now = JACK
    for path in chosen:
        now = documents.written(now, path, data.draw(st.sampled_from(["41.2", "1-5/8 in", "40 ± 0.1", "from window", "#1"])))
    line = command("check", "jack", JACK, now)
    assert line is not None
    import shlex

    words = shlex.split(line)
    assert words[:3] == ["planestock", "check", "jack"]
    assert changed_values(parsed(JACK, "jack"), words[4::2]) == parsed(now, "now")


def test_no_command_line_says_that_something_was_taken_out() -> None:
    assert command("check", "jack", JACK, documents.taken_out(JACK, "tote")) is None


# ---- back and forth ----------------------------------------------------------------------------------------------------


def test_typing_in_one_field_is_one_step_back(client: TestClient) -> None:
    variant = opened(client)
    for typed in ("5", "52", "52.5"):
        variant = changed(client, variant, "iron.width", typed, stroke="iron.width#1")
    assert variant["undoes"] == "Iron: Iron width"
    back = client.post(f"/api/variants/{variant['id']}/undo").json()
    assert back["text"] == JACK
    assert (back["undoes"], back["redoes"]) == (None, "Iron: Iron width")
    again = client.post(f"/api/variants/{variant['id']}/redo").json()
    assert again["text"] == variant["text"]


def test_typing_back_what_was_there_leaves_no_step(client: TestClient) -> None:
    variant = opened(client)
    changed(client, variant, "iron.length", "189", stroke="s")
    variant = changed(client, variant, "iron.length", "188 ± 0.5 mm", stroke="s")
    assert variant["text"] == JACK
    assert variant["undoes"] is None


@given(deeds=st.lists(st.one_of(st.text("abc", max_size=2), st.sampled_from(["<", ">"])), max_size=30))
def test_undo_and_redo_walk_the_texts_that_were_there(deeds: list[str]) -> None:
    history, texts, at = History([Step("", "opened")]), [""], 0
    for deed in deeds:
        if deed == "<":
            at = max(0, at - 1)
            history.undo()
        elif deed == ">":
            at = min(len(texts) - 1, at + 1)
            history.redo()
        elif deed != texts[at]:
            texts, at = [*texts[: at + 1], deed], at + 1
            history.do(Step(deed, "typed"))
        assert history.text == texts[at]
        assert (history.undoes is None) == (at == 0)
        assert (history.redoes is None) == (at == len(texts) - 1)


def test_the_steps_of_a_huge_set_do_not_fill_the_memory() -> None:
    history = History([Step("", "opened")])
    for number in range(400):
        history.do(Step(f"{number}" * 30_000, "typed"))
    assert sum(len(step.text) for step in history.steps) <= 4_000_000
    assert history.undo()


def test_a_change_that_comes_again_as_its_answer_was_lost_is_done_once(client: TestClient) -> None:
    variant = opened(client)
    change = {"do": "take_out", "path": "frog.screws.0", "once": "a"}
    for _ in range(2):
        variant = client.post(f"/api/variants/{variant['id']}/changes", json=change).json()
    assert variant["lists"]["frog.screws"] == 1
    variant = client.post(f"/api/variants/{variant['id']}/changes", json={**change, "once": "b"}).json()
    assert variant["lists"]["frog.screws"] == 0


# ---- what is wrong, and what follows -----------------------------------------------------------------------------------


def test_an_impossible_value_is_named_at_its_field_and_the_last_numbers_stay(client: TestClient) -> None:
    variant = opened(client)
    wrong = changed(client, variant, "iron.bevel_angle", "80")
    (problem,) = wrong["problems"]
    assert problem["path"] == "iron.bevel_angle"
    assert problem["rule"] == "must lie between 15 and 45 deg"
    assert wrong["values"]["iron.bevel_angle"] == "80"
    assert not wrong["numbers_now"]
    assert wrong["numbers"] == variant["numbers"]
    mended = changed(client, variant, "iron.bevel_angle", "28")
    assert (mended["problems"], mended["numbers_now"]) == ([], True)


def test_the_gauge_has_the_numbers_of_the_design(client: TestClient) -> None:
    from planestock.models.design import design
    from planestock.params.files import load

    made, gauge = design(load("jack")), opened(client)["numbers"]["gauge"]
    assert gauge["thickness"] == made.settled.thickness
    assert (gauge["min"], gauge["max"]) == (made.settled.window.low, made.settled.window.high)
    assert (gauge["u_min"], gauge["u_max"]) == (made.settled.low.expanded, made.settled.high.expanded)
    assert gauge["dry"] < gauge["thickness"] < gauge["wet"]


def test_what_is_sure_by_one_road_alone_is_said_to_be_so(client: TestClient) -> None:
    assert not opened(client)["numbers"]["gauge"]["contradicted"]
    bench = '\n[bench]\nedge_low = "50.6 ± 0.1 mm"\nedge_high = "45.0 ± 0.1 mm"\n'
    numbers = opened(client, "text", "two", JACK + bench)["numbers"]
    assert numbers["gauge"]["contradicted"]
    assert "contradict each other; by the bench method alone" in numbers["act"]
    assert "By the bench method alone sure" in numbers["gauge"]["words"]


def test_every_check_tells_what_to_change(client: TestClient) -> None:
    variant = opened(client)
    rows = changed(client, variant, "body.thickness", "48.9")["numbers"]["rows"]
    failing = {row["id"]: row for row in rows if row["verdict"] == "fail"}
    assert "edge-reaches-out" in failing
    assert all(row["change"] for row in rows)


def test_an_empty_set_begins_with_what_is_missing_and_is_filled_in_comments_kept(client: TestClient) -> None:
    variant = opened(client, "blank", "")
    assert variant["problems"]
    assert variant["numbers"] is None
    assert variant["body"]["status"] == "none"
    text = variant["text"]
    for path, typed in opened(client)["values"].items():
        group, _, name = path.rpartition(".")
        if group.rpartition(".")[2].isdecimal() and name in ("along", "x"):
            text = documents.added(text, group.rpartition(".")[0])
        text = documents.written(text, path, typed)
    variant = opened(client, "text", "filled in", text)
    assert variant["problems"] == []
    assert settled(client, variant)["body"]["status"] == "ready"
    assert "# Iron width" in variant["text"]
    # An empty set states each tool's usual ±, where the jack has one ± for all lengths: that is all that is left of it.
    for tool in TOOLS:
        assert f"instrument.{tool}" in variant["values"]
        text = documents.written(text, f"instrument.{tool}", "")
    assert parameter_set(parsed(text, "")).digest == parameter_set(parsed(JACK, "")).digest


# ---- each on its own ---------------------------------------------------------------------------------------------------


def test_variants_do_not_disturb_one_another(client: TestClient) -> None:
    one, other = opened(client), opened(client)
    assert one["id"] != other["id"]
    changed(client, one, "iron.width", "49")
    copy = opened(client, "copy", one["id"])
    changed(client, copy, "iron.width", "48")
    widths = [client.get(f"/api/variants/{each['id']}").json()["values"]["iron.width"] for each in (one, other, copy)]
    assert widths == ["49", "51.0 ± 0.05 mm", "48"]
    assert client.post(f"/api/variants/{copy['id']}/undo").json()["values"]["iron.width"] == "49"
    assert client.get(f"/api/variants/{one['id']}").json()["values"]["iron.width"] == "49"


def test_the_differences_name_what_was_changed_and_what_follows(client: TestClient) -> None:
    one = opened(client)
    other = changed(client, opened(client), "iron.thickness", "3.1 ± 0.02 mm")
    found = client.get("/api/variants/differences", params={"of": [one["id"], other["id"]]}).json()
    assert found["of"] == [one["id"], other["id"]]
    assert [(row["path"], row["texts"]) for row in found["values"]] == [
        ("iron.thickness", ["2.10 ± 0.02 mm", "3.1 ± 0.02 mm"])
    ]
    assert "Thickness" in [row["title"] for row in found["numbers"]]


def test_a_default_and_its_value_written_out_do_not_differ(client: TestClient) -> None:
    one = opened(client)
    other = changed(client, opened(client), "throat.side_clearance", "0.90")
    found = client.get("/api/variants/differences", params={"of": [one["id"], other["id"]]}).json()
    assert (found["values"], found["numbers"]) == ([], [])


def test_a_closed_variant_is_gone(client: TestClient) -> None:
    variant = opened(client)
    assert client.delete(f"/api/variants/{variant['id']}").status_code == 200
    answer = client.get(f"/api/variants/{variant['id']}")
    assert answer.status_code == 404
    assert "not open" in answer.json()["said"]


# ---- the folder of sets ------------------------------------------------------------------------------------------------


def test_a_saved_set_keeps_its_comments_and_is_what_the_command_line_reads(client: TestClient, tmp_path: Path) -> None:
    variant = changed(client, opened(client), "body.length", "390")
    saved = client.post(f"/api/variants/{variant['id']}/save", json={"name": "My jack"}).json()
    assert (saved["saved_as"], saved["saved"]) == ("My-jack.toml", True)
    assert (tmp_path / "My-jack.toml").read_text("utf-8") == JACK.replace("length = 380", "length = 390")
    line = saved["commands"][0].split()
    assert line[:2] == ["planestock", "check"]
    run = [sys.executable, "-c", "import sys; from planestock.exports.command_line import main; sys.exit(main())"]
    ran = subprocess.run([*run, "check", line[2], "--numbers", "--json"], capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    assert f'"digest": "{saved["numbers"]["digest"]}"' in ran.stdout


def test_a_saved_set_opens_again_and_a_change_is_one_option_of_the_command(client: TestClient) -> None:
    variant = opened(client)
    client.post(f"/api/variants/{variant['id']}/save", json={"name": "one"})
    assert client.get("/api/sets").json()["sets"] == ["one.toml"]
    again = changed(client, opened(client, "file", "one.toml"), "body.length", "385")
    assert not again["saved"]
    assert again["commands"][0].endswith("one.toml --set body.length=385")


def test_saving_never_replaces_a_file_that_was_not_seen(client: TestClient, tmp_path: Path) -> None:
    mine = tmp_path / "jack.toml"
    mine.write_text(JACK + "# mine\n", "utf-8")
    variant = opened(client)
    answer = client.post(f"/api/variants/{variant['id']}/save", json={"name": "jack"})
    assert answer.status_code == 422
    assert "is there already" in answer.json()["said"]
    assert mine.read_text("utf-8").endswith("# mine\n")
    there = opened(client, "file", "jack.toml")
    mine.write_text(JACK + "# changed elsewhere\n", "utf-8")
    changed(client, there, "body.length", "385")
    answer = client.post(f"/api/variants/{there['id']}/save", json={"name": "jack"})
    assert "was changed elsewhere" in answer.json()["said"]
    seen = answer.json()["seen"]
    mine.write_text(JACK + "# changed again\n", "utf-8")
    answer = client.post(f"/api/variants/{there['id']}/save", json={"name": "jack", "over": seen})
    assert answer.status_code == 422, "to replace one text is not to replace another"
    answer = client.post(f"/api/variants/{there['id']}/save", json={"name": "jack", "over": answer.json()["seen"]})
    assert answer.status_code == 200
    assert "length = 385" in mine.read_text("utf-8")


@pytest.mark.parametrize("name", ["jack", "new"])
def test_of_two_variants_that_are_saved_at_once_the_second_is_told_of_the_first(tmp_path: Path, name: str) -> None:
    (tmp_path / "jack.toml").write_text(JACK, "utf-8")
    with app(tmp_path) as client:
        for turn in range(6):
            both = [
                changed(client, opened(client, "file", "jack.toml"), "body.length", str(381 + turn * 2 + k)) for k in (0, 1)
            ]
            with ThreadPoolExecutor(2) as pool:
                answers = list(
                    pool.map(lambda one: client.post(f"/api/variants/{one['id']}/save", json={"name": name}), both)
                )
            assert sorted(answer.status_code for answer in answers) == [200, 422]
            (saved,) = (answer.json() for answer in answers if answer.status_code == 200)
            assert (tmp_path / f"{name}.toml").read_text("utf-8") == saved["text"]
            (tmp_path / "new.toml").unlink(missing_ok=True)


def test_of_two_that_agree_to_replace_the_same_file_one_does(tmp_path: Path) -> None:
    (tmp_path / "jack.toml").write_text(JACK, "utf-8")
    with app(tmp_path) as client:
        both = [changed(client, opened(client), "body.length", length) for length in ("390", "391")]
        saves = [f"/api/variants/{one['id']}/save" for one in both]
        seen = [client.post(save, json={"name": "jack"}).json()["seen"] for save in saves]
        answers = [client.post(save, json={"name": "jack", "over": mark}) for save, mark in zip(saves, seen, strict=True)]
        assert [answer.status_code for answer in answers] == [200, 422]
        assert "length = 390" in (tmp_path / "jack.toml").read_text("utf-8")


def test_a_set_that_names_a_drawing_opens_from_its_own_folder_and_its_file_is_not_replaced_unasked(tmp_path: Path) -> None:
    path = folder_with(tmp_path)
    before = path.read_text("utf-8")
    with app(tmp_path) as client:
        variant = opened(client, "file", "plane.toml")
        assert variant["problems"] == []
        assert variant["numbers"]["digest"] == load(str(path)).digest
        assert (variant["untouched"], variant["saved_as"]) == (True, "")
        assert variant["source"]["read"] == {"casting.outline": "casting.dxf", "casting.profile": "side.svg"}
        assert {"casting.outline", "casting.profile"} <= variant["values"].keys()
        assert opened(client)["source"]["read"] == {}
        assert " mm (" in variant["values"]["casting.outline"]
        inches = changed(client, opened(client, "copy", variant["id"]), "units", "in")
        assert " in (" in inches["values"]["casting.outline"]
        assert variant["commands"][0].split()[:2] == ["planestock", "check"]
        answer = client.post(f"/api/variants/{variant['id']}/save", json={"name": "plane"})
        assert (answer.status_code, path.read_text("utf-8")) == (422, before)
        beside = client.post(f"/api/variants/{variant['id']}/save", json={"name": "beside"}).json()
        assert load(str(tmp_path / beside["saved_as"])).digest == variant["numbers"]["digest"]


def test_an_unfinished_set_that_names_a_drawing_opens_with_its_mistakes_named(tmp_path: Path) -> None:
    path = folder_with(tmp_path)
    path.write_text(documents.written(path.read_text("utf-8"), "iron.width", ""), "utf-8")
    with app(tmp_path) as client:
        variant = opened(client, "file", "plane.toml")
        assert [problem["path"] for problem in variant["problems"]] == ["iron.width"]
        variant = changed(client, variant, "iron.width", "51")
        assert "open the set from its folder again" in variant["problems"][0]["remedy"]
        client.post(f"/api/variants/{variant['id']}/save", json={"name": "plane"})
        assert opened(client, "file", "plane.toml")["problems"] == []


def test_a_set_of_the_command_line_is_opened_by_its_number(tmp_path: Path) -> None:
    source = Source("given", "elsewhere/mine.toml", jack("Mine"), "elsewhere/mine.toml")
    with app(tmp_path, source) as client:
        variant = opened(client, "given", "0")
        assert variant["values"]["name"] == "Mine"
        assert variant["commands"][0] == "planestock check elsewhere/mine.toml"
        answer = client.post("/api/variants", json={"kind": "given", "name": "1"})
        assert answer.status_code == 422
