"""The catalogue checked: every file, every figure, and what one file says of another.

Nothing stops at the first fault. Each is a `Problem` with file and line; an empty list means that
the file can be read and believed as far as a program can tell.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cropplan.catalogue.crop_faults import crop_faults
from cropplan.catalogue.duty_faults import FIXED_DUTIES, duty_faults
from cropplan.catalogue.figures import OWN_FIELDS, figure_faults
from cropplan.catalogue.keys import CROP_KEYS
from cropplan.catalogue.lines import plain_tables, toml_fault
from cropplan.catalogue.page import Field, Page, page_of, table_faults
from cropplan.catalogue.read import catalog_dir, fold
from cropplan.problems import BadData, Problem, did_you_mean

_TEXT_NEEDED = Field()
_TEXT = Field(needed=False)
_MEDIUM_FIELDS: Mapping[str, Field] = {
    "id": _TEXT,
    "name": _TEXT_NEEDED,
    "reusable": Field(kind="switch"),
    "treatment": _TEXT_NEEDED,
    "treatment_source": _TEXT_NEEDED,
    "treatment_trust": Field(choices=("read", "memory", "practice")),
    "values": Field(kind="table"),
}
_THING_FIELDS: Mapping[str, Field] = {
    "id": _TEXT,
    "name": _TEXT_NEEDED,
    "note": _TEXT,
    "values": Field(kind="table"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What other files hold, for cross-references; None where it is not known."""

    sources: Collection[str] | None = None
    cautions: Collection[str] | None = None
    crops: Collection[str] | None = None


def check_catalogue(target: Path | None = None) -> list[Problem]:
    """All that is wrong with a catalogue: a folder, one file, or our own when not given.

    One file may be a crop, another file of the catalogue or the grower's own figures; it is held
    against the sources, cautions and crops of our own catalogue.
    Raises BadData when there is nothing to check.
    """
    place = target or catalog_dir()
    if place.is_dir():
        return _check_folder(place)
    if not place.is_file():
        raise BadData(f"{place}: no such file or folder")
    text, unread = _text_of(place)
    if unread:
        return [unread]
    return check_text(place.name, text, _known(_pages(catalog_dir())))


def check_text(file: str, text: str, known: Known | None = None) -> list[Problem]:
    """All that is wrong with the text of one file of the catalogue, whatever it holds."""
    page = _page(file, text)
    return [page] if isinstance(page, Problem) else list(_page_faults(page, known or Known()))


def first_fault(file: Path, text: str) -> str:
    """The first fault of a file that could not be read, and how many more there are."""
    faults = check_text(file.name, text)
    if not faults:
        return f"{file.name}: does not hold what a file of that name should"
    more = f" (and {len(faults) - 1} more; see 'cropplan crops check')" if faults[1:] else ""
    return f"{faults[0]}{more}"


def _check_folder(folder: Path) -> list[Problem]:
    pages: dict[str, Page] = {}
    faults: list[Problem] = []
    for file in _files(folder):
        text, unread = _text_of(file)
        page = unread or _page(file.name, text)
        if isinstance(page, Problem):
            faults.append(page)
        else:
            pages[str(file)] = page
    known = _known(pages.values())
    for page in pages.values():
        faults += _page_faults(page, known)
    faults += _missing_files(folder)
    faults += _twice(pages.values())
    return sorted(faults, key=lambda fault: (fault.file, fault.line or 0))


def _files(folder: Path) -> list[Path]:
    return [*sorted(folder.glob("*.toml")), *sorted((folder / "crops").glob("*.toml"))]


def _pages(folder: Path) -> list[Page]:
    found = (_page(file.name, _text_of(file)[0]) for file in _files(folder))
    return [page for page in found if isinstance(page, Page)]


def _text_of(file: Path) -> tuple[str, Problem | None]:
    try:
        return file.read_text(encoding="utf-8-sig"), None
    except UnicodeDecodeError:
        message = "is not UTF-8 text; save it as UTF-8"
    except OSError as fault:
        message = f"cannot be read ({fault.strerror})"
    return "", Problem(file=file.name, line=None, message=message)


def _page(file: str, text: str) -> Page | Problem:
    tables = plain_tables(text)
    if tables is None:
        import tomllib  # Plain files do without.

        try:
            tables = tomllib.loads(text)
        except (ValueError, RecursionError) as fault:
            return toml_fault(file, text, fault)
    return page_of(file, text, tables)


def _known(pages: Iterable[Page]) -> Known:
    sources: set[str] = set()
    cautions: set[str] = set()
    crops: set[str] = set()
    for page in pages:
        sources |= set(_table(page.tables, "source"))
        cautions |= set(_table(page.tables, "caution"))
        crops |= {str(_table(page.tables, "crop").get("id", ""))} - {""}
    return Known(sources=sources, cautions=cautions, crops=crops)


def _table(tables: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    table = tables.get(name)
    return table if isinstance(table, dict) else {}


def _page_faults(page: Page, known: Known) -> Iterator[Problem]:
    if "crop" in page.tables or "values" in page.tables:
        yield from crop_faults(page, known.sources, known.cautions)
        return
    if not page.tables:
        message = "holds nothing; a crop begins with [crop], the grower's own figures with [own]"
        yield Problem(file=page.file, line=None, message=message)
    for kind in page.tables:
        yield from _kind_faults(page, kind, known)


def _kind_faults(page: Page, kind: str, known: Known) -> Iterator[Problem]:
    things = page.tables[kind]
    if not isinstance(things, dict) or not all(isinstance(t, dict) for t in things.values()):
        yield page.fault((kind,), f"'{kind}' must hold tables only, as [{kind}.name]")
        return
    for name in things:
        path = (kind, name)
        match kind:
            case "duty":
                yield from duty_faults(page, path, known.sources, known.cautions)
            case "caution":
                fields = {"text": _TEXT_NEEDED, "source": _source_field(known)}
                yield from table_faults(page, path, fields)
            case "source":
                yield from table_faults(page, path, {"cite": _TEXT_NEEDED, "note": _TEXT})
            case "media":
                fields = {
                    **_MEDIUM_FIELDS,
                    "treatment_source": _source_field(known),
                    "cautions": _caution_field(known),
                }
                yield from _thing_faults(page, path, fields, known)
            case "fish" | "water" | "filter" | "loop":
                yield from _thing_faults(page, path, _THING_FIELDS, known)
            case "own":
                yield from _own_faults(page, path, known)
            case _:
                kinds = ("crop", "duty", "caution", "source", "media", "fish", "own")
                near = did_you_mean(kind, kinds) or f"; known are {', '.join(kinds)}"
                yield page.fault(path, f"no file of the catalogue holds [{kind}]{near}")


def _source_field(known: Known) -> Field:
    return Field(choices=None if known.sources is None else tuple(sorted(known.sources)))


def _caution_field(known: Known) -> Field:
    choices = None if known.cautions is None else tuple(sorted(known.cautions))
    return Field(kind="texts", needed=False, choices=choices)


def _thing_faults(
    page: Page, path: tuple[str, ...], fields: Mapping[str, Field], known: Known
) -> Iterator[Problem]:
    """A medium, a fish or another thing that is a name and figures under keys of its own."""
    yield from table_faults(page, path, fields)
    thing = page.tables[path[0]][path[1]]
    if "id" in thing and thing["id"] != path[1]:
        yield page.fault((*path, "id"), f"'id' must be '{path[1]}', as its table is named")
    for key in _table(thing, "values"):
        yield from figure_faults(page, (*path, "values", key), None, known.sources)


def _own_faults(page: Page, path: tuple[str, ...], known: Known) -> Iterator[Problem]:
    """The grower's own figures of one crop: [own.tomato.pick_interval]."""
    _, crop = path
    if known.crops is not None and crop not in known.crops:
        near = did_you_mean(crop, known.crops)
        yield page.fault(path, f"no crop '{crop}' in the catalogue{near}")
    for key in page.tables["own"][crop]:
        if key not in CROP_KEYS:
            near = did_you_mean(key, CROP_KEYS) or "; 'cropplan crops show' lists them"
            yield page.fault((*path, key), f"no figure is called '{key}'{near}")
        else:
            units = CROP_KEYS[key].units
            yield from figure_faults(page, (*path, key), units, None, fields=OWN_FIELDS)


def _missing_files(folder: Path) -> Iterator[Problem]:
    for name in ("duties", "cautions", "sources", "media", "fish"):
        if not (folder / f"{name}.toml").is_file():
            yield Problem(file=f"{name}.toml", line=None, message="is missing from the catalogue")
    if not any((folder / "crops").glob("*.toml")):
        yield Problem(file="crops", line=None, message="holds no crop file")


def _twice(pages: Iterable[Page]) -> Iterator[Problem]:
    """What must differ between files, and duties that the program names but nobody wrote."""
    tags: dict[str, str] = {}
    names: dict[str, str] = {}
    for page in pages:
        crop = _table(page.tables, "crop")
        if "tag" in crop:
            other = tags.setdefault(str(crop["tag"]), page.file)
            if other != page.file:
                message = f"the tag letters '{crop['tag']}' are those of {other} already"
                yield page.fault(("crop", "tag"), message)
        for key, word in _spoken(crop):
            other = names.setdefault(fold(word), page.file)
            if other != page.file:
                yield page.fault(("crop", key), f"'{word}' is a name of {other} already")
        duties = _table(page.tables, "duty")
        if duties:
            yield from _missing_duties(page, duties)
            yield from _codes_twice(page, duties)


def _spoken(crop: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for key in ("id", "name", "plural"):
        if isinstance(crop.get(key), str):
            yield key, crop[key]
    aliases = crop.get("aliases")
    for word in aliases if isinstance(aliases, list) else ():
        if isinstance(word, str):
            yield "aliases", word


def _missing_duties(page: Page, duties: Mapping[str, Any]) -> Iterator[Problem]:
    for duty in FIXED_DUTIES:
        if duty not in duties:
            yield Problem(file=page.file, line=None, message=f"the duty '{duty}' is missing")


def _codes_twice(page: Page, duties: Mapping[str, Any]) -> Iterator[Problem]:
    codes: dict[str, str] = {}
    for duty in duties:
        code = str(_table(duties, duty).get("code"))
        other = codes.setdefault(code, duty)
        if other != duty:
            message = f"the code '{code}' is that of '{other}' already"
            yield page.fault(("duty", duty, "code"), message)
