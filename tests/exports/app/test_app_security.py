"""Who may use the app, and what a hostile request can do: be refused in words, and nothing more."""

from __future__ import annotations

import json
import re
import socket
import stat
from collections.abc import Iterator
from contextlib import ExitStack, suppress
from pathlib import Path
from typing import Any

import httpx2
import pytest
import schemathesis
from fastapi.testclient import TestClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis.core.result import Ok
from schemathesis.specs.openapi.checks import positive_data_acceptance

from planestock.exports.app.door import Door
from planestock.exports.app.downloads import disposition
from planestock.exports.app.folder import MOST_LISTED, SetsFolder
from planestock.exports.app.security import LARGEST_BODY, POLICY
from planestock.exports.app.server import application, leading_page, listening
from planestock.exports.app.shared import Shared
from planestock.params.files import shipped
from planestock.params.problems import InputProblem
from tests.support.app_support import PATIENCE, PORT, Address, app, changed, jack, opened, served, serving, stand_in

HOSTILE = '<img src=x onerror="document.title=1"><script>document.title=1</script>'


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    place = tmp_path_factory.mktemp("app")
    folder = place / "sets"
    folder.mkdir()
    (place / "secret.toml").write_text("name = 'secret'\n", "utf-8")
    with app(folder) as found:
        yield found


# ---- from where --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", f"localhost:{PORT}", f"[::1]:{PORT}", f"LOCALHOST:{PORT}"])
def test_this_machine_may_call_the_app_by_its_own_names(client: TestClient, host: str) -> None:
    assert client.get("/api/sets", headers={"host": host, "origin": f"http://{host}"}).status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "",
        "evil.example",
        f"evil.example:{PORT}",
        "127.0.0.1",
        "127.0.0.1:1",
        f"127.0.0.1.evil.example:{PORT}",
        f"0.0.0.0:{PORT}",
    ],
)
def test_a_foreign_host_is_refused(client: TestClient, host: str) -> None:
    answer = client.get("/", headers={"host": host})
    assert answer.status_code == 421
    assert "only on this machine" in answer.json()["said"]


@pytest.mark.parametrize(
    "origin",
    ["http://evil.example", "null", "", f"https://127.0.0.1:{PORT}", "http://127.0.0.1:1", f"http://evil.example@127.0.0.1:{PORT}",
     f"http://127.0.0.1:{PORT}/path", "http://[", "file://"],
)  # fmt: skip
@pytest.mark.parametrize("method", ["GET", "POST", "DELETE", "OPTIONS"])
def test_a_foreign_origin_is_refused_and_changes_nothing(client: TestClient, method: str, origin: str) -> None:
    answer = client.request(method, "/api/variants", headers={"origin": origin}, json={"kind": "shipped", "name": "jack"})
    assert answer.status_code == 403
    assert "elsewhere" in answer.json()["said"]
    assert "access-control-allow-origin" not in answer.headers


def test_a_page_elsewhere_cannot_even_read_without_naming_itself(client: TestClient) -> None:
    for site in ("cross-site", "same-site"):
        assert client.get("/api/start", headers={"sec-fetch-site": site}).status_code == 403
        assert client.get("/app.js", headers={"sec-fetch-site": site}).status_code == 403
    assert client.get("/", headers={"sec-fetch-site": "cross-site"}).status_code == 200, "a link to the app may be followed"


@pytest.mark.parametrize("path", ["/", "/api/sets", "/nothing", "/api/variants/differences"])
def test_every_answer_has_the_security_headers(client: TestClient, path: str) -> None:
    headers = client.get(path).headers
    assert headers["content-security-policy"] == POLICY
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["x-frame-options"] == "DENY"
    assert headers["cross-origin-resource-policy"] == "same-origin"


def test_the_policy_allows_no_script_but_the_apps_own() -> None:
    rules = dict(rule.strip().split(" ", 1) for rule in POLICY.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["script-src"] == "'self'"
    assert "unsafe" not in POLICY
    assert rules["frame-ancestors"] == rules["form-action"] == rules["base-uri"] == "'none'"


# ---- how much ----------------------------------------------------------------------------------------------------------


def test_a_large_upload_is_refused_in_words(client: TestClient) -> None:
    answer = client.post("/api/variants", content=b"x" * (LARGEST_BODY + 1), headers={"content-type": "application/json"})
    assert answer.status_code == 413
    assert "too large" in answer.json()["said"]


def test_an_upload_that_hides_its_size_is_refused_too(client: TestClient) -> None:
    pieces = (b"x" * 50_000 for _ in range(20))
    answer = client.post("/api/variants", content=pieces, headers={"content-type": "application/json"})
    assert answer.status_code == 413


def test_a_set_that_is_too_long_is_refused_in_words(client: TestClient) -> None:
    answer = client.post("/api/variants", json={"kind": "text", "name": "big.toml", "text": "# " + "x" * 100_001})
    assert answer.status_code == 422
    variant = opened(client)
    assert (
        client.post(
            f"/api/variants/{variant['id']}/changes", json={"do": "write", "path": "note", "typed": "x" * 6001}
        ).status_code
        == 422
    )


@pytest.mark.parametrize(
    "text",
    [
        "not = = toml", "\x00", "a = " + "[" * 5000, "a = 1\n" * 2, "[[[a]]]", "a.b.c.d = {", "é" * 10 + "=1", '"' * 3,
        "x = " + "9" * 5000,
    ],
)  # fmt: skip
def test_a_file_that_is_no_set_is_refused_with_its_place(client: TestClient, text: str) -> None:
    answer = client.post("/api/variants", json={"kind": "text", "name": "odd.toml", "text": text})
    assert answer.status_code == 422, answer.text
    assert answer.json()["problems"][0]["path"] in ("odd.toml", "the set")


@pytest.mark.parametrize(
    "text",
    ["iron = 5", "iron = [1, 2]", "iron = {}",
     "frog = { screws = 7 }", "frog = { screws = [1, {}, []] }", "units = [\"mm\"]", "name = 1.5",
     "[iron]\nwidth = { a = 1 }", "'' = 1", "'a.b' = 2", "[iron.''.x]\ny=1", "[[iron]]\nwidth = 5", "wood.dry = [[{}]]",
     "x = 1979-05-27T07:32:00Z", "x = inf", "body.dowels.count = -9223372036854775808"],
)  # fmt: skip
def test_toml_of_another_shape_opens_with_its_problems_named(client: TestClient, text: str) -> None:
    variant = opened(client, "text", "odd.toml", text)
    assert variant["problems"]
    assert all(problem["rule"] for problem in variant["problems"])


BROKEN_JSON = (
    b"", b"{", b"null", b"[]", b"\xff\xfe", b"[" * 100_000, b'{"kind": NaN}', b'{"kind":"text","text":"\\ud800"}',
    b'{"kind":"text","text":' + b"9" * 5000 + b"}",
)  # fmt: skip


@pytest.mark.parametrize("content", BROKEN_JSON, ids=[repr(content[:24]) for content in BROKEN_JSON])
def test_malformed_json_is_answered_in_the_apps_own_form(client: TestClient, content: bytes) -> None:
    answer = client.post("/api/variants", content=content, headers={"content-type": "application/json"})
    assert answer.status_code in (400, 422)
    assert answer.json().keys() == {"said", "problems", "seen"}
    assert answer.json()["said"]


HALF_A_LETTER = "\ud800"
"""A lone surrogate: JSON can spell it, no file can hold it."""


@pytest.mark.parametrize(
    ("path", "content"),
    [
        ("", {"kind": "text", "text": HALF_A_LETTER}),
        ("", {"kind": "kept", "name": HALF_A_LETTER, "text": ""}),
        ("/{0}/changes", {"do": "write", "path": "name", "typed": HALF_A_LETTER}),
        ("/{0}/changes", {"do": "write", "path": HALF_A_LETTER, "typed": "x"}),
        ("/{0}/changes", {"do": "write", "path": "name", "typed": "x", "stroke": HALF_A_LETTER}),
        ("/{0}/changes", {"do": "write", "path": "name", "typed": "x", "once": HALF_A_LETTER}),
        ("/{0}/save", {"name": HALF_A_LETTER}),
        ("/{0}/files", {"titles": [HALF_A_LETTER]}),
    ],
)
def test_half_a_letter_is_refused_in_words_and_harms_nothing(
    client: TestClient, path: str, content: dict[str, object]
) -> None:
    variant = opened(client)
    spelled, kind = json.dumps(content).encode(), {"content-type": "application/json"}
    answer = client.post("/api/variants" + path.format(variant["id"]), content=spelled, headers=kind)
    assert (answer.status_code, "half" in answer.json()["said"]) == (422, True), answer.text
    changed(client, variant, "name", "whole")
    assert client.post(f"/api/variants/{variant['id']}/save", json={"name": "whole"}).status_code == 200
    client.app.state.shared.folder.path.joinpath("whole.toml").unlink()  # type: ignore[attr-defined]


@pytest.mark.parametrize("repeated", ["origin", "sec-fetch-site"])
@pytest.mark.parametrize("order", [1, -1])
def test_of_a_header_that_comes_twice_the_foreign_one_counts(client: TestClient, repeated: str, order: int) -> None:
    own = {"origin": f"http://127.0.0.1:{PORT}", "sec-fetch-site": "same-origin"}[repeated]
    foreign = {"origin": "http://elsewhere.example", "sec-fetch-site": "cross-site"}[repeated]
    headers = [(repeated, value) for value in (own, foreign)][::order]
    answer = client.get("/api/sets", headers=[*headers, ("cookie", client.headers["cookie"])])
    assert answer.status_code == 403


@pytest.mark.parametrize(
    ("method", "path"), [("PUT", "/api/variants"), ("GET", "/nothing"), ("TRACE", "/"), ("POST", "/app.js")]
)
def test_what_cannot_be_done_is_answered_in_the_apps_own_form(client: TestClient, method: str, path: str) -> None:
    answer = client.request(method, path)
    assert answer.status_code in (404, 405)
    assert answer.json()["said"]


def test_an_error_that_nobody_foresaw_is_answered_in_the_apps_own_form(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    def breaks(_: object) -> None:
        raise RuntimeError("odd\nlines")

    monkeypatch.setattr("planestock.exports.app.folder.SetsFolder.names", breaks)
    answer = client.get("/api/sets")
    assert answer.status_code == 500
    assert answer.json()["said"].startswith("Something broke: RuntimeError: odd.")


# ---- the disk ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    [
        "../secret.toml",
        "..%2fsecret.toml",
        "/etc/passwd",
        "C:\\secret.toml",
        "sets/../../secret.toml",
        "./x.toml",
        "",
        ".",
        "\x00",
    ],
)
def test_no_name_leads_out_of_the_folder(client: TestClient, name: str) -> None:
    answer = client.post("/api/variants", json={"kind": "file", "name": name})
    assert answer.status_code == 422
    assert "secret'" not in answer.text


def test_a_folder_of_very_many_sets_lists_the_first_and_saves_into_all(tmp_path: Path) -> None:
    for number in range(MOST_LISTED + 2):
        (tmp_path / f"{number:04}.toml").write_text(jack(f"jack {number}"), "utf-8")
    with app(tmp_path) as client:
        listed = client.get("/api/sets").json()
        assert (len(listed["sets"]), listed["count"]) == (MOST_LISTED, MOST_LISTED + 2)
        last = f"{MOST_LISTED + 1:04}.toml"
        variant = changed(client, opened(client, "file", last), "body.length", "390")
        answer = client.post(f"/api/variants/{variant['id']}/save", json={"name": last})
        assert answer.status_code == 200, answer.text
    assert "length = 390" in (tmp_path / last).read_text("utf-8")


def test_a_link_out_of_the_folder_is_no_set(tmp_path: Path) -> None:
    outside, folder = tmp_path / "outside.toml", tmp_path / "sets"
    outside.write_text("name = 'outside'\n", "utf-8")
    folder.mkdir()
    (folder / "link.toml").symlink_to(outside)
    (folder / "folder.toml").mkdir()
    (folder / ".hidden.toml").write_text("", "utf-8")
    (folder / "mine.toml").write_text("name = 'mine'\n", "utf-8")
    found = SetsFolder(folder)
    assert found.names() == ("mine.toml",)
    with pytest.raises(InputProblem, match="no such set"):
        found.read("link.toml")
    with pytest.raises(InputProblem, match="in the way"):
        found.write("link", "name = 'x'\n")
    assert outside.read_text("utf-8") == "name = 'outside'\n"


@given(name=st.text(min_size=1, max_size=300))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
def test_whatever_it_is_called_a_set_is_saved_inside_the_folder(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "sets"
    folder.mkdir(exist_ok=True)
    saved = SetsFolder(folder).name_for(name)
    (tmp_path / "sets" / saved).write_text("", "utf-8")
    assert (folder / saved).resolve().parent == folder.resolve()
    assert saved.endswith(".toml")
    assert disposition(saved).isascii()


# ---- names that would act ----------------------------------------------------------------------------------------------


def test_a_hostile_name_comes_back_as_json_only_and_saves_under_a_plain_name(client: TestClient) -> None:
    variant = changed(client, opened(client), "name", HOSTILE)
    assert variant["values"]["name"] == HOSTILE
    answer = client.get(f"/api/variants/{variant['id']}")
    assert answer.headers["content-type"] == "application/json"
    taken = client.get(f"/api/variants/{variant['id']}/set.toml")
    assert taken.headers["content-type"].startswith("application/toml")
    assert taken.headers["content-disposition"].startswith('attachment; filename="')
    assert "<" not in taken.headers["content-disposition"]
    saved = client.post(f"/api/variants/{variant['id']}/save", json={"name": HOSTILE}).json()["saved_as"]
    assert saved == "img-src-x-onerror-document-title-1-script-document-title-1-s.toml"


@pytest.mark.parametrize("name", ["a\r\nset-cookie: x=1", 'a"; filename="b', "a\u202egpj.exe", "\U0001f600"])
def test_no_name_reaches_into_the_headers(client: TestClient, name: str) -> None:
    variant = changed(client, opened(client), "name", name)
    headers = client.get(f"/api/variants/{variant['id']}/set.toml").headers
    assert "set-cookie" not in headers
    assert headers["content-disposition"].count('"') == 2
    assert headers["content-disposition"].isascii()


# ---- whatever comes ----------------------------------------------------------------------------------------------------


def test_the_description_lists_every_request() -> None:
    made = application(Shared(SetsFolder(Path())))
    found = set(made.openapi()["paths"])
    assert {"/api/start", "/api/variants", "/api/variants/{variant}/changes", "/api/orders/{job}"} <= found


@pytest.fixture(scope="module")
def running(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Address]:
    with served(tmp_path_factory.mktemp("running")) as address:
        yield address


@pytest.fixture(scope="module")
def there(running: Address) -> str:
    """The id of a variant that is open."""
    found: str = httpx2.post(
        f"{running}api/variants", json={"kind": "shipped", "name": "jack"}, headers=running.headers
    ).json()["id"]
    return found


DESCRIPTION = schemathesis.openapi.from_dict(application(Shared(SetsFolder(Path()))).openapi())
OPERATIONS = {found.ok().label: found.ok() for found in DESCRIPTION.get_all_operations() if isinstance(found, Ok)}


# One check is left out: a set or a path that no schema can tell from a good one is refused, and has to be.
@pytest.mark.parametrize("label", OPERATIONS)
def test_no_request_breaks_the_app(running: Address, there: str, label: str) -> None:
    @given(case=OPERATIONS[label].as_strategy())
    @settings(max_examples=15, suppress_health_check=list(HealthCheck))
    def holds(case: Any) -> None:
        if "variant" in case.path_parameters and case.method != "DELETE":
            case.path_parameters["variant"] = there
        if "after" in case.query:
            case.query["after"] = 0
        case.call_and_validate(
            base_url=running.rstrip("/"),
            headers=running.headers,
            timeout=PATIENCE,
            excluded_checks=[positive_data_acceptance],
        )

    holds()


MALFORMED = (
    b"", b"\r\n\r\n", b"GET\r\n\r\n", b"GET / HTTP/9.9\r\n\r\n", b"\x00" * 2000, b"\x16\x03\x01\x02\x00\x01\x00",
    b"POST /api/variants HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 99999999999999999999\r\n\r\n{}",
    b"POST /api/variants HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: -1\r\n\r\n{}",
    b"POST /api/variants HTTP/1.1\r\nHost: 127.0.0.1\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n",
    b"GET / HTTP/1.1\r\n" + b"X: y\r\n" * 20_000 + b"\r\n",
    b"GET /" + b"a" * 200_000 + b" HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n",
    b"GET /%00%ff%c0%af../../etc/passwd HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n",
)  # fmt: skip


@pytest.mark.parametrize("raw", MALFORMED, ids=[repr(raw[:24]) for raw in MALFORMED])
def test_a_malformed_request_does_not_end_the_server(running: Address, raw: bytes) -> None:
    port = running.port
    with socket.create_connection(("127.0.0.1", port), timeout=PATIENCE) as connection:
        try:
            connection.sendall(raw)
            connection.shutdown(socket.SHUT_WR)
            answer = connection.recv(4096)
        except OSError:  # the server may hang up at any point of it
            answer = b""
    assert b" 200 " not in answer.partition(b"\r\n")[0]
    assert b"root:" not in answer
    assert httpx2.get(f"{running}api/sets", headers=running.headers).status_code == 200


def test_the_server_listens_on_this_machine_only() -> None:
    with listening(None) as place:
        assert place.getsockname()[0] == "127.0.0.1"
        assert place.proto == socket.IPPROTO_TCP, "else each answer waits 40 ms for the next one"


def test_a_port_that_is_taken_is_refused_by_name_or_passed_over() -> None:
    with listening(None) as first:
        first.listen()
        with listening(None) as second:
            assert second.getsockname()[1] not in (0, first.getsockname()[1])
        with pytest.raises(InputProblem, match="is taken by another program"):
            listening(int(first.getsockname()[1]))


def test_the_shipped_sets_are_the_only_ones_by_that_way(client: TestClient) -> None:
    assert opened(client, "shipped", "jack")["text"] == shipped()["jack"]
    assert client.post("/api/variants", json={"kind": "shipped", "name": "../params/sets/jack"}).status_code == 422
    assert client.post("/api/variants", json={"kind": "given", "name": "0"}).status_code == 422
    assert opened(client, "text", "x", jack("x"))["values"]["name"] == "x"


# ---- others on this machine --------------------------------------------------------------------------------------------


@pytest.fixture
def stranger(client: TestClient) -> TestClient:
    """Somebody who reaches the same app and has nothing."""
    return TestClient(client.app, base_url=str(client.base_url), raise_server_exceptions=False)


def test_every_request_but_the_first_pages_asks_who_comes(client: TestClient, stranger: TestClient) -> None:
    there = opened(client)["id"]
    for operation in OPERATIONS.values():
        path = operation.path.replace("{variant}", there).replace("{job}", there).replace("{draft}", there)
        answer = stranger.request(operation.method, path, json={"kind": "shipped", "name": "jack"})
        assert (answer.status_code, "does not know this browser" in answer.json()["said"]) == (403, True), path
    for path in ("/app.js", "/app.css", "/api/openapi.json", "/nothing"):
        assert stranger.get(path).status_code == 403
    for method in ("POST", "PUT", "DELETE", "HEAD"):
        assert stranger.request(method, "/").status_code == 403
    page = stranger.get("/")
    assert (page.status_code, page.headers["connection"], "set-cookie" in page.headers) == (200, "close", False)
    assert there not in page.text
    assert client.get(f"/api/variants/{there}").status_code == 200


def test_a_key_works_once_and_brings_a_cookie_that_scripts_cannot_read(client: TestClient, stranger: TestClient) -> None:
    door, used = client.app.state.shared.door, []  # type: ignore[attr-defined]
    key = door.new_key(lambda: used.append(1))
    answer = stranger.get("/", params={"key": key})
    (cookie,) = answer.headers.get_list("set-cookie")
    name, _, rest = cookie.partition("=")
    assert name == f"planestock-{PORT}"
    assert rest.split("; ")[0] == door.cookie
    assert {"HttpOnly", "SameSite=strict", "Path=/"} == set(rest.split("; ")[1:])
    assert used == [1]
    for given_key in (key, key[:-1], key + "x", "", "\u00e9", "x" * 200):
        assert "set-cookie" not in client.get("/", params={"key": given_key}).headers
    assert used == [1]


@pytest.mark.parametrize(
    "text",
    [
        "{name}={cookie}x", "{name}=", "other={cookie}", "{name}x={cookie}", "{name}={name}", "\u00ff={cookie}",
        "{name}=\u00e9", ";" * 20_000,
    ],
)  # fmt: skip
def test_a_cookie_that_is_not_the_apps_own_opens_nothing(client: TestClient, stranger: TestClient, text: str) -> None:
    cookie = client.app.state.shared.door.cookie  # type: ignore[attr-defined]
    content = text.format(name=f"planestock-{PORT}", cookie=cookie).encode("latin-1")
    assert stranger.get("/api/sets", headers=[(b"cookie", content)]).status_code == 403


def test_the_page_that_leads_a_browser_in_is_its_owners_alone(tmp_path: Path) -> None:
    door = Door()
    page = leading_page(tmp_path / "new", PORT, door)
    assert stat.S_IMODE(page.stat().st_mode) == 0o600
    assert stat.S_IMODE(page.parent.stat().st_mode) == 0o700
    (key,) = set(re.findall(r"key=([\w-]+)", page.read_text("utf-8")))
    assert door.opens(key)
    assert not page.exists()
    assert not door.opens(key)


def test_connections_that_say_nothing_keep_nobody_out(tmp_path: Path) -> None:
    with serving(tmp_path, stand_in()) as address, ExitStack() as stack:
        silent = []
        for number in range(230):
            made = stack.enter_context(socket.create_connection(("127.0.0.1", address.port), timeout=PATIENCE))
            made.sendall((b"", b"GET / HTTP/1.1\r\nHost: 127", b"POST /api/variants HTTP/1.1\r\n")[number % 3])
            silent.append(made)
        for _ in range(3):
            assert httpx2.get(f"{address}api/sets", headers=address.headers, timeout=PATIENCE).status_code == 200
        closed = 0
        for made in silent:  # each is let go in the end, the oldest at once
            with suppress(ConnectionError):
                assert made.recv(1) == b""
            closed += 1
        assert closed == len(silent)


def test_a_request_whose_content_never_comes_is_ended(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("planestock.exports.app.security.CONTENT_LIMIT", 0.2)
    with serving(tmp_path, stand_in()) as address:
        head = f"POST /api/variants HTTP/1.1\r\nHost: 127.0.0.1:{address.port}\r\nContent-Length: 9\r\n"
        with socket.create_connection(("127.0.0.1", address.port), timeout=PATIENCE) as known:
            known.sendall(f"{head}Cookie: {address.headers['cookie']}\r\n\r\n".encode())
            assert known.recv(20).startswith(b"HTTP/1.1 408")
        with socket.create_connection(("127.0.0.1", address.port), timeout=PATIENCE) as stranger:
            stranger.sendall(f"{head}\r\n".encode())
            assert stranger.recv(20).startswith(b"HTTP/1.1 403")
