"""The kernel's process beside the app: it may crash, hang or babble, and the app says so and keeps the last good body."""

from __future__ import annotations

import asyncio
import gc
import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, ThreadPoolExecutor, wait
from pathlib import Path
from typing import Any

import httpx2
import pytest
from fastapi.testclient import TestClient

from planestock.exports.app.built_bodies import Bodies
from planestock.exports.app.evaluation import evaluate
from planestock.exports.app.folder import SetsFolder
from planestock.exports.app.history import History, Step
from planestock.exports.app.shared import MOST_LISTENING, Shared
from planestock.exports.app.states import MOST_VARIANTS, Source, Variant, Variants
from planestock.exports.kernel_process import Worker, WorkerFailed
from tests.support.app_support import PATIENCE, Address, app, changed, jack, opened, served, serving, settled, stand_in

LARGEST_SCENE = 300_000
"""Bytes of a body on its way to the page, uncompressed."""


def scene_of(client: TestClient, variant: dict[str, Any]) -> Any:
    return client.get(f"/api/variants/{variant['id']}/body").json()


# ---- with the real kernel ----------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def real(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    with app(tmp_path_factory.mktemp("real"), command=()) as client:
        yield client


def test_the_real_kernel_builds_each_change_and_its_checks(real: TestClient) -> None:
    variant = opened(real)
    first = settled(real, variant)
    before = scene_of(real, variant)
    assert first["body"]["status"] == "ready"
    assert {"solids-sound", "iron-clear-out"} <= {row["id"] for row in first["solid_rows"]}
    assert len(real.get(f"/api/variants/{variant['id']}/body").content) < LARGEST_SCENE
    changed(real, variant, "body.length", "400")
    settled(real, changed(real, variant, "body.length", "410"))
    after = scene_of(real, variant)
    keys = [{part["name"]: part["key"] for part in scene["parts"]} for scene in (before, after)]
    assert {name for name in keys[0] if keys[0][name] != keys[1][name]} >= {"right half", "left half"}
    files = ordered(real, variant, titles=["report"])
    assert [file["name"] for file in files["files"]] == ["report.json", "report.txt"], files
    report = real.get(f"/api/orders/{files['id']}/file", params={"name": "report.json"})
    assert report.json()["set"]["digest"] == real.get(f"/api/variants/{variant['id']}").json()["numbers"]["digest"]


def test_no_files_of_a_set_with_mistakes_and_none_while_a_check_fails_unless_asked_for(real: TestClient) -> None:
    variant = changed(real, opened(real), "iron.width", "x")
    answer = real.post(f"/api/variants/{variant['id']}/files", json={})
    assert (answer.status_code, "to mend first" in answer.text) == (409, True)
    changed(real, variant, "iron.width", "51")
    changed(real, variant, "body.thickness", "48.9")
    refused = ordered(real, variant, titles=["report"])
    assert refused["status"] == "failed"
    assert "edge-reaches-out" in refused["said"]
    made = ordered(real, variant, titles=["report"], allow_failing=True)
    assert made["status"] == "done", made
    text = real.get(f"/api/orders/{made['id']}/file", params={"name": "report.txt"}).text
    assert "FAILS ITS CHECKS" in text


def test_the_first_page_needs_neither_the_kernel_nor_meshes() -> None:
    """Loading them takes seconds; they are the worker's alone."""
    code = (
        "import sys; from pathlib import Path; from fastapi.testclient import TestClient;"
        "from planestock.exports.app.server import application; from planestock.exports.app.shared import Shared;"
        "from planestock.exports.app.folder import SetsFolder;"
        "client = TestClient(application(Shared(SetsFolder(Path()))), base_url='http://127.0.0.1:7373');"
        "client.headers['cookie'] = 'planestock-7373=' + client.app.state.shared.door.cookie;"
        "assert client.get('/').status_code == 200; assert client.get('/api/start').status_code == 200;"
        "print([name for name in ('cadquery', 'OCP', 'trimesh', 'manifold3d', 'scipy') if name in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"


# ---- with stand-ins that fail ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("crashes", "crashed (SIGSEGV)"),
        ("ends", "crashed (exit code 3)"),
        ("babbles", "crashed"),
        ("hangs", "gave no answer within 1 s and was stopped"),
        ("fails", "the seat: the solid kernel failed; lower a value"),
    ],
)
def test_a_failing_kernel_is_told_and_the_last_good_body_stays(tmp_path: Path, name: str, said: str) -> None:
    with app(tmp_path) as client:
        shared: Shared = client.app.state.shared  # type: ignore[attr-defined]
        variant = opened(client, "text", "x", jack("builds well"))
        assert settled(client, variant)["body"]["status"] == "ready"
        if name == "hangs":  # only then, as a busy machine may need a second for an answer that does come
            shared.bodies.worker.limit = 1.0
        found = settled(client, changed(client, variant, "name", f"{name} now"))
        shared.bodies.worker.limit = PATIENCE
        assert found["body"]["status"] == "failed"
        assert said in found["body"]["said"]
        assert scene_of(client, variant) == {"of": "builds well"}
        after = settled(client, changed(client, variant, "name", "builds again"))
        assert (after["body"]["status"], after["body"]["said"]) == ("ready", "")
        assert scene_of(client, variant) == {"of": "builds again"}
        assert client.get("/").status_code == 200


def test_one_variants_crash_is_not_anothers(tmp_path: Path) -> None:
    with app(tmp_path) as client:
        bad = opened(client, "text", "x", jack("crashes at once"))
        good = opened(client, "text", "x", jack("builds beside"))
        assert settled(client, good)["body"]["status"] == "ready"
        assert settled(client, bad)["body"]["status"] == "failed"
        assert client.get(f"/api/variants/{bad['id']}/body").status_code == 204


def test_a_kernel_that_cannot_even_start_is_told(tmp_path: Path) -> None:
    with app(tmp_path, command=(sys.executable, "-c", "raise SystemExit(5)")) as client:
        found = settled(client, opened(client))
        assert found["body"]["status"] == "failed"
        assert "exit code 5" in found["body"]["said"]
        assert client.get("/").status_code == 200


def test_what_is_not_the_kernels_fault_is_told_and_the_next_change_tries_again(tmp_path: Path) -> None:
    """Too many open files, for one: the process cannot be started now, and can later."""
    with app(tmp_path, command=(str(tmp_path / "is-not-there"),)) as client:
        failed = settled(client, opened(client))
        assert "could not be started (No such file or directory)" in failed["body"]["said"]
        made = ordered(client, failed_variant := opened(client))
        assert (made["status"], "could not be started" in made["said"]) == ("failed", True)
        for worker in (client.app.state.shared.bodies.worker, client.app.state.shared.jobs.worker):  # type: ignore[attr-defined]
            worker.command = stand_in()
        after = settled(client, changed(client, failed_variant, "name", "builds again"))
        assert (after["body"]["status"], after["body"]["said"]) == ("ready", "")
        assert ordered(client, failed_variant)["status"] == "done"


@pytest.mark.parametrize(
    "error", [OSError(24, "Too many open files"), RuntimeError("odd"), MemoryError(), KeyError("bytes")]
)
def test_no_error_ends_the_builder(error: Exception) -> None:
    async def story() -> tuple[str, bytes | None]:
        worker = Recorder()
        worker.go.set()
        bodies = Bodies(worker)
        worker.fails = error
        running = asyncio.create_task(bodies.run())
        variant = variant_named("first")
        bodies.want(variant)
        while variant.body.status == "building":
            await asyncio.sleep(0.01)
        said, worker.fails = variant.body.said, None
        variant.became(evaluate(jack("second")))
        bodies.want(variant)
        while variant.body.scene is None and not running.done():
            await asyncio.sleep(0.01)
        running.cancel()
        return said, variant.body.scene

    said, scene = asyncio.run(story())
    assert type(error).__name__ in said
    assert scene == jack("second").encode()


def test_a_kernel_that_takes_no_task_is_given_up() -> None:
    """A pipe holds some 64 kB; a process that stands still leaves the rest of a large set waiting."""
    deaf = 'import json, time; print(json.dumps({"kind": "warm", "bytes": 0}), flush=True); time.sleep(600)'

    async def story() -> None:
        worker = Worker(1.0, (sys.executable, "-c", deaf))
        with pytest.raises(WorkerFailed, match="gave no answer within 1 s"):
            _ = [answer async for answer in worker.answers({"do": "body", "text": "x" * 2_000_000})]
        await worker.close()

    asyncio.run(asyncio.wait_for(story(), PATIENCE))


def test_a_mistake_while_a_body_is_made_shows_no_body_for_the_mistake(tmp_path: Path) -> None:
    with app(tmp_path) as client:
        variant = opened(client)
        wrong = changed(client, variant, "iron.width", "x")
        assert wrong["body"]["status"] != "building"
        mended = settled(client, changed(client, variant, "iron.width", "51"))
        assert mended["body"]["of"] == mended["revision"]


# ---- newer takes the place of older ------------------------------------------------------------------------------------


class Recorder(Worker):
    """A worker that takes down what it is asked, and answers after a moment that the test decides on."""

    def __init__(self) -> None:
        super().__init__(1.0)
        self.asked: list[str] = []
        self.go = asyncio.Event()
        self.fails: Exception | None = None

    async def start(self) -> None:
        return

    async def answers(self, task: dict[str, Any]) -> Any:
        from planestock.exports.kernel_process import Answer

        self.asked.append(f"{task['do']} {evaluate(task['text']).values['name']}")
        await self.go.wait()
        if self.fails is not None:
            raise self.fails
        yield (
            Answer({"kind": "scene"}, task["text"].encode())
            if task["do"] == "body"
            else Answer({"kind": "checks", "rows": []})
        )


def variant_named(name: str) -> Variant:
    text = jack(name)
    return Variant(Source("text", "", text), History([Step(text, "opened")]), evaluate(text))


def test_a_change_that_comes_while_a_body_is_made_takes_its_place() -> None:
    async def story() -> list[str]:
        worker = Recorder()
        bodies = Bodies(worker)
        running = asyncio.create_task(bodies.run())
        variant, other = variant_named("first"), variant_named("other")
        bodies.want(variant)
        await asyncio.sleep(0)
        while not worker.asked:
            await asyncio.sleep(0.01)
        bodies.want(other)
        for name in ("second", "third", "fourth"):
            variant.became(evaluate(jack(name)))
            bodies.want(variant)
        worker.go.set()
        while variant.body.rows_of != variant.revision or other.body.rows_of != other.revision:
            await asyncio.sleep(0.01)
        running.cancel()
        assert variant.body.scene == variant.now.text.encode()
        return worker.asked

    assert asyncio.run(story()) == ["body first", "body other", "checks other", "body fourth", "checks fourth"]


def test_a_hanging_body_that_is_no_longer_wanted_gives_way(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("planestock.exports.app.built_bodies.PATIENCE", 0.0)

    async def story() -> str:
        bodies = Bodies(Worker(PATIENCE, stand_in()))
        running = asyncio.create_task(bodies.run())
        variant = variant_named("hangs for ever")
        bodies.want(variant)
        await asyncio.sleep(0.5)
        variant.became(evaluate(jack("builds instead")))
        bodies.want(variant)
        end = time.monotonic() + PATIENCE / 2
        while variant.body.status == "building":
            assert time.monotonic() < end
            await asyncio.sleep(0.02)
        running.cancel()
        await bodies.worker.close()
        return (variant.body.scene or b"").decode()

    assert json.loads(asyncio.run(story())) == {"of": "builds instead"}


def test_the_process_ends_with_the_app(tmp_path: Path) -> None:
    with app(tmp_path) as client:
        settled(client, opened(client))
        worker = client.app.state.shared.bodies.worker  # type: ignore[attr-defined]
        process = worker._process
        assert process.returncode is None
    assert process.returncode is not None


def test_a_worker_whose_app_is_gone_ends_by_itself() -> None:
    command = [sys.executable, "-m", "planestock.exports.app.kernel_tasks", "60"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert json.loads(process.stdout.readline())["kind"] == "warm"
        assert process.stdin is not None
        process.stdin.close()
        assert process.wait(PATIENCE) == 0


def test_a_worker_whose_app_is_gone_while_it_loads_ends_without_a_traceback() -> None:
    command = [sys.executable, "-m", "planestock.exports.app.kernel_tasks", "60"]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""
        assert process.wait(PATIENCE) == 0


def test_the_keys_that_stop_the_app_do_not_reach_the_kernels_process() -> None:
    async def story() -> int:
        worker = Worker(PATIENCE, stand_in())
        await worker.start()
        assert worker._process is not None
        group = os.getpgid(worker._process.pid)
        await worker.close()
        return group

    assert asyncio.run(story()) != os.getpgid(0)


def test_the_answers_of_a_task_that_was_given_up_are_not_taken_for_the_next() -> None:
    async def story() -> list[str]:
        worker = Worker(PATIENCE, stand_in())
        async for _ in worker.answers({"do": "files", "titles": ["a", "b", "c"], "text": jack("builds")}):
            break
        found = [answer.content.decode() async for answer in worker.answers({"do": "body", "text": jack("builds on")})]
        await worker.close()
        return found

    assert asyncio.run(story()) == ['{"of": "builds on"}']


def test_a_failure_leaves_the_process_to_the_next_task() -> None:
    async def story() -> tuple[int, int]:
        worker = Worker(PATIENCE, stand_in())
        with pytest.raises(WorkerFailed, match="lower a value"):
            _ = [answer async for answer in worker.answers({"do": "body", "text": jack("fails")})]
        first = worker._process
        _ = [answer async for answer in worker.answers({"do": "body", "text": jack("builds")})]
        second = worker._process
        assert first is not None
        assert second is not None
        pids = (first.pid, second.pid)
        await worker.close()
        return pids

    first, second = asyncio.run(story())
    assert first == second
    with pytest.raises(ProcessLookupError):
        os.kill(first, 0)


# ---- files -------------------------------------------------------------------------------------------------------------


def ordered(client: TestClient, variant: dict[str, Any], **order: Any) -> dict[str, Any]:
    found: dict[str, Any] = client.post(f"/api/variants/{variant['id']}/files", json=order).json()
    end = time.monotonic() + PATIENCE
    while found["status"] == "making":
        assert time.monotonic() < end
        found = client.get(f"/api/orders/{found['id']}", params={"after": found["news"]}).json()
    return found


def test_files_come_one_by_one_or_all_in_an_archive_that_is_the_same_each_time(tmp_path: Path) -> None:
    import io
    import zipfile

    from planestock.exports.building import WRITERS

    titles = [writer.title for writer in WRITERS if writer.extra is None]
    with app(tmp_path) as client:
        variant = opened(client, "text", "x", jack("builds well"))
        made = ordered(client, variant)
        assert [file["title"] for file in made["files"]] == titles
        one = client.get(f"/api/orders/{made['id']}/file", params={"name": "parts/0.step"})
        assert one.content == b"content of " + titles[0].encode()
        assert one.headers["content-disposition"] == 'attachment; filename="builds-well-0.step"'
        archives = [client.get(f"/api/orders/{each['id']}/all").content for each in (made, ordered(client, variant))]
        assert archives[0] == archives[1]
        with zipfile.ZipFile(io.BytesIO(archives[0])) as found:
            assert found.namelist() == [f"builds-well/parts/{number}.step" for number in range(len(titles))]
        assert client.get(f"/api/orders/{made['id']}/file", params={"name": "../../etc/passwd"}).status_code == 404


def test_an_order_that_is_given_up_is_gone(tmp_path: Path) -> None:
    with app(tmp_path) as client:
        made = ordered(client, opened(client, "text", "x", jack("builds")))
        assert client.delete(f"/api/orders/{made['id']}").status_code == 200
        assert client.get(f"/api/orders/{made['id']}").status_code == 404


def test_only_so_many_variants_are_kept_and_the_one_unused_for_longest_goes() -> None:
    variants, one = Variants(), variant_named("x")
    used, unused = variants.add(one.twin()), variants.add(one.twin())
    for _ in range(MOST_VARIANTS - 1):
        assert variants.find(used.id) is used
        variants.add(one.twin())
    assert variants.find(used.id) is used
    assert variants.find(unused.id) is None


# ---- nothing that hangs or grows ---------------------------------------------------------------------------------------


def test_many_pages_that_wait_for_news_leave_the_browser_a_connection(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A browser has six connections for all pages of an app; requests that wait must not hold them."""
    monkeypatch.setattr("planestock.exports.app.shared.LONGEST_WAIT", 10 * PATIENCE)
    with serving(tmp_path, stand_in()) as address, asking(address) as client:
        one = client.post("/api/variants", json={"kind": "blank"}).json()
        ask = f"/api/variants/{one['id']}/news"
        with ThreadPoolExecutor(MOST_LISTENING + 2) as pool:
            answers = [pool.submit(client.get, ask, params={"after": one["news"]}) for _ in range(MOST_LISTENING + 2)]
            done, _ = wait(answers, timeout=PATIENCE, return_when=FIRST_COMPLETED)
            client.post(f"/api/variants/{one['id']}/changes", json={"do": "write", "path": "name", "typed": "x"})
            assert done, "with so many, one is answered though there is no news"
            assert {answer.result().status_code for answer in answers} == {200}


def test_a_page_that_was_closed_is_waited_for_no_longer(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("planestock.exports.app.shared.LONGEST_WAIT", 10 * PATIENCE)
    shared = Shared(SetsFolder(tmp_path), (), stand_in())
    with serving(tmp_path, (), shared=shared) as address:
        with asking(address) as client:
            one = client.post("/api/variants", json={"kind": "blank"}).json()
        head = f"GET /api/variants/{one['id']}/news?after={one['news']} HTTP/1.1\r\nHost: 127.0.0.1:{address.port}\r\n"
        with socket.create_connection(("127.0.0.1", address.port), timeout=PATIENCE) as page:
            page.sendall(f"{head}Cookie: {address.headers['cookie']}\r\n\r\n".encode())
            until(lambda: shared.listening == 1)
        until(lambda: shared.listening == 0)


def asking(address: Address) -> httpx2.Client:
    return httpx2.Client(base_url=str(address), headers=address.headers, timeout=PATIENCE)


def until(holds: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE
    while not holds():
        assert time.monotonic() < end
        time.sleep(0.02)


MOST_LEFT = 5
"""Objects that a change may leave behind: the step back with its values."""


def test_a_change_leaves_no_more_behind_than_a_step_back(tmp_path: Path) -> None:
    """A sample of the long test below: what the server itself holds, object by object; the kernel is a stand-in."""
    held = {}
    with app(tmp_path) as client:
        variant = opened(client)
        for number in range(61):
            typed = f"{381 + number % 40}.{number % 7}"
            variant = changed(client, variant, "body.length", typed, stroke=str(number))
            variant |= settled(client, variant)
            if number in (10, 60):
                gc.collect()
                held[number] = len(gc.get_objects())
    assert held[60] - held[10] <= 50 * MOST_LEFT


GROWTH = 1.05
"""What server and kernel may hold after 1100 changes, as a share of what they hold after 100."""


@pytest.mark.long
def test_a_thousand_changes_leave_the_memory_of_server_and_kernel_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "sets").mkdir()
    with served(tmp_path / "sets") as address, asking(address) as client:
        one = client.post("/api/variants", json={"kind": "shipped", "name": "jack"}).json()
        (server,) = (found for found in children(os.getpid()) if b"serve" in Path(f"/proc/{found}/cmdline").read_bytes())
        held = {}
        for number in range(1, 1101):
            length = f"{381 + number % 40 + number % 7 / 10:.1f}"
            change = {"do": "write", "path": "body.length", "typed": length}
            news = client.post(f"/api/variants/{one['id']}/changes", json=change).json()
            while news["body"]["status"] == "building" or news["solid_rows"] is None:
                news = client.get(f"/api/variants/{one['id']}/news", params={"after": news["news"]}).json()
            assert news["body"]["status"] == "ready", news["body"]
            if number in (100, 1100):
                held[number] = [resident(process) for process in (server, *children(server))]
    assert len(held[100]) == 2
    assert all(after <= before * GROWTH for before, after in zip(held[100], held[1100], strict=True)), held


def children(process: int) -> list[int]:
    return [int(found) for found in Path(f"/proc/{process}/task/{process}/children").read_text("ascii").split()]


def resident(process: int) -> int:
    """Resident memory of a process, kB."""
    text = Path(f"/proc/{process}/status").read_text("ascii")
    return int(next(row for row in text.splitlines() if row.startswith("VmRSS")).split()[1])
