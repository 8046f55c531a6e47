"""Requests about variants: opened, changed, taken back, saved, closed; and the news and the body of each."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Query, Request, Response
from fastapi.concurrency import run_in_threadpool
from pydantic import BaseModel, ConfigDict, Field, field_validator
from pydantic_core import PydanticCustomError

from planestock.exports.app import documents
from planestock.exports.app.differences import differences
from planestock.exports.app.downloads import disposition
from planestock.exports.app.evaluation import Evaluated, evaluate, titled
from planestock.exports.app.folder import mark
from planestock.exports.app.history import History, Step
from planestock.exports.app.shared import Shared, TheApp, TheVariant, while_listening
from planestock.exports.app.states import Source, Variant, described, drawings_read, named, news
from planestock.params.files import carrying_drawings, load, parsed, shipped
from planestock.params.problems import InputProblem, refuse
from planestock.params.template import template

Entry = dict[str, Any]
router = APIRouter(prefix="/api/variants", tags=["variants"])

BLANK_NAME = "My plane"
"""Name of a set that begins empty; a set must have one."""

MOST_COMPARED = 8
"""Variants that one table of differences shows; more columns cannot be read."""


class Strict(BaseModel):
    """A request's content; refused is what is not declared, and half a letter, which JSON can spell and no file can hold."""

    model_config = ConfigDict(extra="forbid")

    @field_validator("*", mode="before")
    @classmethod
    def _whole_letters(cls, raw: Any) -> Any:
        """Refuse a lone surrogate in a text or in a list of texts."""
        for text in raw if isinstance(raw, list) else [raw]:
            if isinstance(text, str) and any("\ud800" <= letter <= "\udfff" for letter in text):
                raise PydanticCustomError("half_a_letter", "holds half of a letter (a lone surrogate); type it anew")
        return raw


class Opening(Strict):
    """Where a new variant comes from. name: of the shipped set or file, number of the given one, id to copy or of the draft.

    "kept" is a text that a page remembers and that is saved nowhere else.
    """

    kind: Literal["shipped", "file", "given", "text", "kept", "blank", "copy", "draft"]
    name: str = Field(default="", max_length=300)
    text: str = Field(default="", max_length=documents.LARGEST_SET)


class Change(Strict):
    """One change. typed: what was typed, for "write"; stroke: mark of the typing that it belongs to, one step of undo.

    once: mark of the change itself, if it may come again, as its answer was lost; then it is not done a second time.
    """

    do: Literal["write", "take_out", "add"]
    path: str = Field(min_length=1, max_length=200)
    typed: str = ""
    stroke: str = Field(default="", max_length=64)
    once: str = Field(default="", max_length=64)


class Saving(Strict):
    """Under which name to save. over: the mark that a refusal named, of the file which the person agreed to replace."""

    name: str = Field(min_length=1, max_length=300)
    over: str = Field(default="", max_length=64)


@router.post("", status_code=201)
async def open_variant(opening: Opening, app: TheApp) -> Entry:
    """Open a new variant."""
    if opening.kind == "copy":
        variant = _copied(app, opening.name)
    elif opening.kind == "draft":
        variant = await _of_draft(app, opening.name)
    else:
        source = await run_in_threadpool(_source, app, opening)
        text = source.text or opening.text
        now = await run_in_threadpool(evaluate, text)
        variant = Variant(source, History([Step(text, "opened")]), now)
        if source.kind == "file" and not source.command:
            variant.saved_as, variant.saved_text = source.name, source.text
    app.variants.add(variant)
    await app.keep(variant)
    if variant.body.rows_of != variant.revision:
        app.bodies.want(variant)
    return described(variant, app.folder)


async def _of_draft(app: Shared, name: str) -> Variant:
    """Return a draft's variant; where a page still shows it, a copy of it, so that two pages never disturb one another."""
    found = await app.find(name)
    if found is None:
        raise refuse("draft", name, "is not kept any more", "open the list again")
    return found.twin() if found.watchers else found


def _copied(app: Shared, name: str) -> Variant:
    found = app.variants.find(name)
    if found is None:
        raise refuse("variant", name, "is not open here any more", "load the page again")
    return found.twin()


def _source(app: Shared, opening: Opening) -> Source:
    if opening.kind == "given":
        return _given(app, opening.name)
    if opening.kind == "shipped":
        if opening.name not in shipped():
            raise refuse("set", opening.name, "is not a shipped set", f"there are {', '.join(shipped())}")
        return Source("shipped", opening.name, shipped()[opening.name], opening.name)
    if opening.kind == "file":
        return _filed(app, opening.name)
    if opening.kind == "blank":
        return Source("blank", BLANK_NAME, template(load("jack"), BLANK_NAME, empty=True))
    parsed(opening.text, opening.name or "the set")
    return Source("text", opening.name, "" if opening.kind == "kept" else opening.text)


def _filed(app: Shared, name: str) -> Source:
    """Return a set of the folder. One that names a drawing carries it here, so it is another text than its file's: the file
    is then not taken for this set's own, and is not replaced before the person has said so."""
    text = app.folder.read(name)
    try:
        carried = carrying_drawings(text, str(app.folder.path / name))
    except InputProblem:  # Opened as it stands, its mistakes are named one by one, that the drawing is not read among them.
        carried = text
    if carried == text:
        return Source("file", name, text)
    return Source("file", name, carried, named(app.folder, name), drawings_read(text, carried))


def _given(app: Shared, number: str) -> Source:
    if not number.isdecimal() or len(number) > 3 or int(number) >= len(app.given):
        raise refuse("set", number, "was not given on the command line", "choose another set")
    return app.given[int(number)]


@router.get("/differences")
async def table_of_differences(app: TheApp, of: Annotated[list[str], Query(max_length=MOST_COMPARED)]) -> Entry:
    """Return what differs between open variants; those that are not open are left out."""
    found = [variant for name in of if (variant := app.variants.find(name)) is not None]
    return differences(found)


@router.get("/{variant}")
async def one_variant(found: TheVariant, app: TheApp) -> Entry:
    """Return a variant as it stands."""
    return described(found, app.folder)


@router.delete("/{variant}")
async def close_variant(found: TheVariant, app: TheApp) -> Entry:
    """Let go of a variant."""
    app.variants.close(found.id)
    return {"id": found.id}


@router.post("/{variant}/changes")
async def change_variant(change: Change, found: TheVariant, app: TheApp) -> Entry:
    """Change a variant. What was typed is kept even where it breaks a rule; the problems then say which."""
    async with found.lock:
        if not change.once or change.once != found.once:
            text, now = await run_in_threadpool(_changed, found.history.text, change)
            found.history.do(Step(text, _what(change), change.stroke))
            found.once = change.once
            await _became(app, found, now)
    return described(found, app.folder)


def _changed(text: str, change: Change) -> tuple[str, Evaluated]:
    if change.do == "write":
        changed = documents.written(text, change.path, change.typed)
    else:
        changed = {"add": documents.added, "take_out": documents.taken_out}[change.do](text, change.path)
    return changed, evaluate(changed)


def _what(change: Change) -> str:
    verb = {"write": "", "add": "adding ", "take_out": "taking out "}[change.do]
    return f"{verb}{titled(change.path)}"


async def _became(app: Shared, found: Variant, now: Evaluated) -> None:
    if now.text != found.now.text:
        found.became(now)
        app.bodies.want(found)
        await app.keep(found)


@router.post("/{variant}/undo")
async def undo(found: TheVariant, app: TheApp) -> Entry:
    """Take the last change back."""
    return await _moved(app, found, back=True)


@router.post("/{variant}/redo")
async def redo(found: TheVariant, app: TheApp) -> Entry:
    """Do again what was taken back."""
    return await _moved(app, found, back=False)


async def _moved(app: Shared, found: Variant, *, back: bool) -> Entry:
    async with found.lock:
        if found.history.undo() if back else found.history.redo():
            await _became(app, found, await run_in_threadpool(evaluate, found.history.text))
    return described(found, app.folder)


@router.post("/{variant}/save")
async def save(saving: Saving, found: TheVariant, app: TheApp) -> Entry:
    """Save a variant's set into the folder of sets, comments and all."""
    async with found.lock:
        text, over = found.now.text, saving.over or None
        if not over and found.saved_as == app.folder.name_for(saving.name):
            over = mark(found.saved_text)
        found.saved_as = await run_in_threadpool(lambda: app.folder.write(saving.name, text, over=over))
        found.saved_text = text
        await app.keep(found)
    return described(found, app.folder)


@router.get("/{variant}/set.toml", response_class=Response)
async def set_file(found: TheVariant, app: TheApp) -> Response:
    """Return the set as a file, comments and all."""
    name = found.saved_as or app.folder.name_for(str(found.now.values.get("name", "")))
    return Response(found.now.text, media_type="application/toml", headers={"content-disposition": disposition(name)})


@router.get("/{variant}/news")
async def wait_for_news(
    found: TheVariant, app: TheApp, request: Request, after: Annotated[int, Query(ge=0, le=1 << 53)] = 0
) -> Entry:
    """Wait until there is news after the one that was seen, some seconds at most, and return how the body stands."""
    found.watchers += 1
    try:
        await while_listening(app, request, lambda seconds: found.wait_for_news(after, seconds), lambda: found.news != after)
    finally:
        found.watchers -= 1
    return news(found)


@router.get("/{variant}/body", response_class=Response, responses={204: {"description": "There is none yet."}})
async def body(found: TheVariant) -> Response:
    """Return the scene of the last good body as JSON; 204 while there is none yet."""
    if found.body.scene is None:
        return Response(status_code=204)
    return Response(found.body.scene, media_type="application/json", headers={"x-revision": str(found.body.of)})
