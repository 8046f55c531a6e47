"""Work that was not saved when page or app were closed: kept on the disk, for nobody else to read, and offered again."""

from __future__ import annotations

import os
import resource
import shutil
import stat
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient
from playwright.sync_api import Browser, expect

from planestock.exports.app.drafts import MOST_DRAFTS
from tests.support.app_support import app, changed, jack, opened, serving
from tests.support.browser_support import until, watched

ASLEEP = (sys.executable, "-c", "import time; time.sleep(600)")
"""A kernel's process that never answers: what is tested needs no body."""


def test_unsaved_changes_are_there_after_the_app_was_started_anew(tmp_path: Path) -> None:
    drafts = tmp_path / "state" / "drafts"
    (tmp_path / "mine.toml").write_text(jack("Mine"), "utf-8")
    with app(tmp_path, drafts=drafts) as client:
        left = changed(client, opened(client, "file", "mine.toml"), "body.length", "391")
        opened(client)
        done = changed(client, opened(client), "body.length", "392")
        client.post(f"/api/variants/{done['id']}/save", json={"name": "done"})
        back = changed(client, opened(client), "body.length", "393")
        client.post(f"/api/variants/{back['id']}/undo")
    with app(tmp_path, drafts=drafts) as client:
        (offered,) = client.get("/api/drafts").json()["drafts"]
        assert (offered["id"], offered["name"], offered["of"]) == (left["id"], "Mine", "mine.toml")
        again = opened(client, "draft", left["id"])
        assert {name: again[name] for name in ("text", "saved_as", "saved", "untouched", "source")} == {
            name: left[name] for name in ("text", "saved_as", "saved", "untouched", "source")
        }
        assert client.post(f"/api/variants/{again['id']}/undo").json()["text"] == jack("Mine")
        client.post(f"/api/variants/{again['id']}/redo")
        assert client.post(f"/api/variants/{again['id']}/save", json={"name": "mine"}).status_code == 200
        assert client.get("/api/drafts").json()["drafts"] == []
    assert "length = 391" in (tmp_path / "mine.toml").read_text("utf-8")


def test_a_page_finds_its_variant_again_by_its_id(tmp_path: Path) -> None:
    with app(tmp_path, drafts=tmp_path / "drafts") as client:
        left = changed(client, opened(client), "body.length", "391")
    with app(tmp_path, drafts=tmp_path / "drafts") as client:
        assert client.get(f"/api/variants/{left['id']}").json()["text"] == left["text"]
        on = changed(client, left, "body.width", "73")
        assert (on["values"]["body.length"], on["values"]["body.width"]) == ("391", "73")


def test_drafts_are_their_owners_alone(tmp_path: Path) -> None:
    drafts = tmp_path / "state" / "drafts"
    with app(tmp_path, drafts=drafts) as client:
        left = changed(client, opened(client), "body.length", "391")
    assert [path.name for path in drafts.iterdir()] == [f"{left['id']}.json"]
    assert stat.S_IMODE(drafts.stat().st_mode) == 0o700
    assert stat.S_IMODE((drafts / f"{left['id']}.json").stat().st_mode) == 0o600


def test_a_draft_goes_when_the_person_says_so_and_not_when_a_variant_is_closed(tmp_path: Path) -> None:
    with app(tmp_path, drafts=tmp_path / "drafts") as client:
        left = changed(client, opened(client), "body.length", "391")
        client.delete(f"/api/variants/{left['id']}")
        assert len(client.get("/api/drafts").json()["drafts"]) == 1
        client.delete(f"/api/drafts/{left['id']}")
        assert client.get("/api/drafts").json()["drafts"] == []
        assert client.get(f"/api/variants/{left['id']}").status_code == 404
        assert client.post("/api/variants", json={"kind": "draft", "name": left["id"]}).status_code == 422
        for name in ("../mine", "mine\\0", left["id"] + "\\0"):
            assert client.post("/api/variants", json={"kind": "draft", "name": name}).status_code == 422


def test_a_text_that_only_a_page_remembers_counts_as_unsaved(tmp_path: Path) -> None:
    with app(tmp_path, drafts=tmp_path / "drafts") as client:
        variant = opened(client, "kept", "x", jack("Mine"))
        assert (variant["untouched"], variant["saved"]) == (False, False)
        assert [one["name"] for one in client.get("/api/drafts").json()["drafts"]] == ["Mine"]


@pytest.mark.parametrize(
    "content", [b"", b"{", b"\x00" * 100, b'{"id": 5}', b"[" * 100_000], ids=["empty", "cut", "zeros", "other", "deep"]
)
def test_a_damaged_draft_is_passed_over(tmp_path: Path, content: bytes) -> None:
    with app(tmp_path, drafts=tmp_path) as client:
        left = changed(client, opened(client), "body.length", "391")
        (tmp_path / f"{'0' * 32}.json").write_bytes(content)
        (tmp_path / f"{left['id']}.json").write_bytes(content)
        client.delete(f"/api/variants/{left['id']}")
        assert client.get("/api/drafts").json()["drafts"] == []
        assert client.get(f"/api/variants/{left['id']}").status_code == 404


def test_where_no_draft_can_be_kept_the_work_goes_on_and_it_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way", "utf-8")
    with app(tmp_path, drafts=tmp_path / "file" / "drafts") as client:
        variant = changed(client, opened(client), "body.length", "391")
        assert variant["values"]["body.length"] == "391"
        assert "not kept on the disk either" in variant["not_kept"]


@pytest.fixture
def place() -> Iterator[Path]:
    """A folder that every user of the machine may enter; pytest's own are for whoever runs it alone."""
    made = Path(tempfile.mkdtemp(prefix="planestock-test-"))
    made.chmod(0o777)
    yield made
    for path in (made, *made.iterdir()):
        path.chmod(0o777)
    shutil.rmtree(made)


NOBODY = 65534
"""An ordinary user's number: nothing is forbidden to the superuser."""


@contextmanager
def as_an_ordinary_user() -> Iterator[None]:
    was = os.geteuid()
    if was == 0:
        os.seteuid(NOBODY)
    try:
        yield
    finally:
        if was == 0:
            os.seteuid(0)


def saved_as(client: TestClient, variant: dict[str, Any], name: str) -> tuple[int, str]:
    answer = client.post(f"/api/variants/{variant['id']}/save", json={"name": name})
    return answer.status_code, answer.json().get("said", "")


def test_where_nothing_may_be_written_the_work_goes_on_and_it_is_said(place: Path) -> None:
    sets, state = place / "sets", place / "state"
    sets.mkdir()
    state.mkdir()
    (sets / "mine.toml").write_text(jack("Mine"), "utf-8")
    sets.chmod(0o555)
    state.chmod(0o555)
    with app(sets, drafts=state / "drafts") as client:
        opened(client, "file", "mine.toml")  # everything is loaded while all may be read
        with as_an_ordinary_user():
            variant = changed(client, opened(client, "file", "mine.toml"), "body.length", "391")
            assert variant["values"]["body.length"] == "391"
            assert "must be allowed to write there" in variant["not_kept"]
            for name in ("mine", "other"):
                status, said = saved_as(client, variant, name)
                assert (status, "must be allowed to write there" in said) == (422, True), said
        sets.chmod(0o755)
        assert [path.name for path in sets.iterdir()] == ["mine.toml"]
        assert (sets / "mine.toml").read_text("utf-8") == jack("Mine")
        assert saved_as(client, variant, "mine") == (200, "")


@pytest.mark.parametrize("mode", [0o000, 0o444, 0o311])
def test_a_folder_that_may_not_be_read_is_told_and_is_no_fault_of_the_app(place: Path, mode: int) -> None:
    sets = place / "sets"
    sets.mkdir()
    (sets / "mine.toml").write_text(jack("Mine"), "utf-8")
    with app(sets) as client:
        variant = opened(client)
        sets.chmod(mode)
        with as_an_ordinary_user():
            for answer in (
                client.get("/api/sets"),
                client.post("/api/variants", json={"kind": "file", "name": "mine.toml"}),
                client.post(f"/api/variants/{variant['id']}/save", json={"name": "mine"}),
            ):
                assert answer.status_code == 422, answer.text
                assert "must be allowed" in answer.json()["said"]


def test_a_full_disk_is_said_and_what_was_there_stays(tmp_path: Path) -> None:
    """The system's own limit of a file's size stands for a full disk: both refuse in the middle of writing."""
    drafts = tmp_path / "drafts"
    (tmp_path / "mine.toml").write_text(jack("Mine"), "utf-8")
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    with app(tmp_path, drafts=drafts) as client:
        variant = changed(client, opened(client, "file", "mine.toml"), "body.length", "391")
        kept = (drafts / f"{variant['id']}.json").read_bytes()
        resource.setrlimit(resource.RLIMIT_FSIZE, (1000, hard))
        try:
            variant = changed(client, variant, "body.length", "392")
            status, said = saved_as(client, variant, "mine")
        finally:
            resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        assert "not kept on the disk either" in variant["not_kept"]
        assert (status, bool(said)) == (422, True)
        assert (drafts / f"{variant['id']}.json").read_bytes() == kept
        assert (tmp_path / "mine.toml").read_text("utf-8") == jack("Mine")
        assert sorted(path.name for path in tmp_path.iterdir() if path.name != "drafts") == ["mine.toml"]
        assert changed(client, variant, "body.length", "393")["not_kept"] == ""
        assert saved_as(client, variant, "mine") == (200, "")


def test_of_very_many_drafts_the_oldest_go(tmp_path: Path) -> None:
    with app(tmp_path, drafts=tmp_path) as client:
        left = changed(client, opened(client), "body.length", "391")
        content = (tmp_path / f"{left['id']}.json").read_text("utf-8")
        for number in range(MOST_DRAFTS):
            name = f"{number:032x}"
            (tmp_path / f"{name}.json").write_text(content.replace(left["id"], name), "utf-8")
        changed(client, left, "body.length", "392")
        found = [one["id"] for one in client.get("/api/drafts").json()["drafts"]]
    assert len(found) == MOST_DRAFTS
    assert found[0] == left["id"]


@pytest.mark.browser
def test_unsaved_work_is_offered_at_the_next_start(browser: Browser, tmp_path: Path) -> None:
    drafts = tmp_path / "drafts"
    with serving(tmp_path, ASLEEP, drafts=drafts) as address:
        page = watched(browser, offline=False).page
        address.visited(page)
        page.get_by_role("button", name="Example: jack").click()
        until(page, "planestock.page.active")
        page.evaluate("planestock.page.form.go('body.width')")
        page.fill('[id="field-body.width"]', "73")
        until(page, "planestock.page.active.state.values['body.width'] === '73'")
        page.context.close()
    with serving(tmp_path, ASLEEP, drafts=drafts) as address:
        page = watched(browser, offline=False).page
        address.visited(page)
        expect(page.locator("dialog[open] .drafts")).to_contain_text("Begun with jack")
        page.locator(".draft .choice-card").click()
        until(page, "planestock.page.active")
        assert page.evaluate("planestock.page.active.state.values['body.width']") == "73"
        page.get_by_role("button", name="Open", exact=True).click()
        expect(page.locator(".draft")).to_have_count(0)
        page.context.close()
