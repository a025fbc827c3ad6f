"""The catalogue's files as values: TOML in, frozen dataclasses out, and nothing in between.

What is read here is on the path of the morning list, so it is checked only as far as needed to
never build a wrong value. When a file cannot be built, `check` reads it again at leisure and says
what is wrong on which line.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from cropplan.catalogue.keys import CROP_KEYS
from cropplan.catalogue.lines import plain_tables, tables_of, toml_tables
from cropplan.catalogue.model import (
    Catalogue,
    Caution,
    Crop,
    Duty,
    Figure,
    Fish,
    Habit,
    Medium,
    Pollination,
    Source,
    Trigger,
    Trust,
)
from cropplan.holding.place import PlaceKind
from cropplan.holding.planting import Origin, Stage
from cropplan.holding.task import Keeps, Part, Rank, SubjectKind
from cropplan.problems import BadData, Refusal, did_you_mean

Thing = TypeVar("Thing")

_TRUST = {trust.value: trust for trust in Trust}
_NUMBERS = frozenset({"typical", "low", "high", "at_c", "base_c", "ceiling_c", "light_enough"})
_TEXTS = frozenset({"unit", "source", "at", "note"})
_BEYOND = 1e9
_WATERS = (
    *("water.compromise", "water.plants", "water.bacteria", "loop.any"),
    *("filter.swirl", "filter.radial-flow", "filter.clarifier", "filter.screen"),
)
_DUTY_KINDS: Mapping[str, type] = {
    **dict.fromkeys(("code", "job", "rank", "every_key", "note"), str),
    **dict.fromkeys(("again", "first_after"), int),
    **dict.fromkeys(("survival", "with_fish"), bool),
    **dict.fromkeys(("stages", "origins", "habits", "pollinations", "cautions"), list),
}


def catalog_dir() -> Path:
    """The folder of the catalogue's files: beside the package in a checkout, else inside it.

    Raises BadData when there is neither.
    """
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "_data" / "catalog", package.parent / "catalog"):
        if (folder / "duties.toml").is_file():
            return folder
    raise BadData(
        f"the catalogue is not in {package / '_data' / 'catalog'} nor in "
        f"{package.parent / 'catalog'}; install cropplan again"
    )


def read_catalogue(
    crop_ids: Iterable[str] | None = None,
    own: Path | None = None,
    *,
    fish_ids: Collection[str] | None = None,
    medium_ids: Iterable[str] | None = None,
    folder: Path | None = None,
) -> Catalogue:
    """The duties and cautions, and of the crops, fish and media only those asked for.

    crop_ids, fish_ids, medium_ids : ids; None for all. An unknown fish or medium is left out, for
    a record may name one of the grower's own.
    own : the grower's own figures, laid over the catalogue's; a file that is not there holds none.
    folder : another catalogue than our own.
    Raises BadData with file and line when a file cannot be read, Refusal for an unknown crop.
    """
    root = folder or catalog_dir()
    wanted = _crop_ids(root) if crop_ids is None else sorted(set(crop_ids))
    crops = {crop_id: read_crop(_crop_file(root, crop_id)) for crop_id in wanted}
    if own is not None and own.is_file():
        from cropplan.catalogue.own import overlay  # Most growers have none.

        crops = overlay(crops, own)
    return Catalogue(
        crops=crops,
        media=_read(root / "media.toml", "media", medium_from, medium_ids),
        fish=_read(root / "fish.toml", "fish", fish_from, fish_ids),
        waters=_waters(root) if fish_ids is None or fish_ids else {},
        duties=_read(root / "duties.toml", "duty", duty_from),
        cautions=_read(root / "cautions.toml", "caution", caution_from),
    )


def read_figures(
    file: str, kind: str, name: str, folder: Path | None = None
) -> Mapping[str, Figure]:
    """The figures of one thing that is neither crop nor fish, as of [loop.any] in fish.toml.

    Raises BadData with file and line, and when there is no such thing.
    """
    path = (folder or catalog_dir()) / file
    found = _read(path, kind, lambda _, raw: _figures(raw), (name,))
    if name not in found:
        raise BadData(f"{file}: [{kind}.{name}] is missing")
    return found[name]


def read_crop(file: Path) -> Crop:
    """The crop in a file. Raises BadData with file and line."""
    return _built(file, crop_from)


def read_sources(folder: Path | None = None) -> Mapping[str, Source]:
    """Where the figures come from, by id. Raises BadData with file and line."""
    return _read((folder or catalog_dir()) / "sources.toml", "source", source_from)


def crop_index(folder: Path | None = None) -> Mapping[str, tuple[str, ...]]:
    """The words each crop goes by, its id first: name, plural and other names follow.

    Only the head of each file is read. Raises BadData with file and line.
    """
    root = folder or catalog_dir()
    return {
        crop_id: (crop_id, *_built(_crop_file(root, crop_id), _spoken, ["crop"]))
        for crop_id in _crop_ids(root)
    }


def find_crop(text: str, folder: Path | None = None) -> str:
    """The id of the crop that goes by a word: its id, name, plural or another name.

    Capitals, and hyphens for spaces, make no difference.
    Raises Refusal, with the nearest word when there is one.
    """
    if text in _crop_ids(folder or catalog_dir()):
        return text
    index = crop_index(folder)
    spoken = fold(text)
    for crop_id, words in index.items():
        if any(fold(word) == spoken for word in words):
            return crop_id
    # Of names alike but for capitals the last is suggested: the id.
    known = [word for words in index.values() for word in reversed(words)]
    near = did_you_mean(text, known) or "; 'cropplan crops list' shows them all"
    raise Refusal(f"no crop '{text}' in the catalogue{near}")


def fold(text: str) -> str:
    """A crop's name as compared: no capitals, one space for spaces, hyphens and underscores."""
    return " ".join(text.casefold().replace("-", " ").replace("_", " ").split())


def figure_from(raw: Mapping[str, Any]) -> Figure:
    """A figure from its table. Raises KeyError, TypeError or ValueError when it is none."""
    fields = dict(raw)
    fields["trust"] = _TRUST[fields["trust"]]
    if "points" in fields:
        fields["points"] = tuple((_number(at), _number(value)) for at, value in fields["points"])
    for name, value in fields.items():
        if name in _TEXTS:
            _word(value)
        elif name in _NUMBERS:
            _number(value)
    figure = Figure(**fields)
    if not figure.least <= figure.typical <= figure.most:
        raise ValueError(figure)
    return figure


def crop_from(raw: Mapping[str, Any]) -> Crop:
    """A crop from its file's tables. Raises KeyError, TypeError or ValueError when it is none."""
    fields = dict(raw["crop"])
    for name in ("id", "name", "plural", "tag", "family", "pollination_why", "pick_unit"):
        _word(fields[name])
    fields["habit"] = Habit(fields["habit"])
    fields["pollination"] = Pollination(fields["pollination"])
    fields["ways"] = tuple(Origin(way) for way in fields["ways"])
    fields["places"] = tuple(PlaceKind(place) for place in fields["places"])
    for name in ("aliases", "cautions"):
        fields[name] = _words(fields.get(name, ()))
    _word(fields.get("note", ""))
    values = {key: figure_from(table) for key, table in raw["values"].items()}
    for key, figure in values.items():
        if figure.unit not in CROP_KEYS[key].units:
            raise ValueError(key)
    return Crop(values=values, **fields)


def duty_from(duty_id: str, raw: Mapping[str, Any]) -> Duty:
    """A duty from its table. Raises KeyError, TypeError or ValueError when it is none."""
    fields = dict(raw)
    for name, kind in _DUTY_KINDS.items():
        if name in fields and type(fields[name]) is not kind:
            raise TypeError(name)
    _number(fields["minutes_each"])
    fields["subject"] = SubjectKind(fields["subject"])
    fields["trigger"] = Trigger(fields["trigger"])
    fields["part"] = Part(fields["part"])
    fields["keeps"] = Keeps(fields["keeps"])
    fields["rank"] = Rank[fields["rank"].upper().replace("-", "_")]
    fields["stages"] = frozenset(Stage(word) for word in fields.get("stages", ()))
    fields["origins"] = frozenset(Origin(word) for word in fields.get("origins", ()))
    fields["habits"] = frozenset(Habit(word) for word in fields.get("habits", ()))
    fields["pollinations"] = frozenset(Pollination(w) for w in fields.get("pollinations", ()))
    fields["cautions"] = _words(fields.get("cautions", ()))
    if "every" in fields:
        fields["every"] = figure_from(fields["every"])
    if "awaits" in fields:
        fields["awaits"] = Stage(fields["awaits"])
    return Duty(id=duty_id, **fields)


def caution_from(caution_id: str, raw: Mapping[str, Any]) -> Caution:
    """A caution from its table. Raises KeyError or TypeError when it is none."""
    return Caution(id=caution_id, text=_word(raw["text"]), source=_word(raw["source"]))


def source_from(source_id: str, raw: Mapping[str, Any]) -> Source:
    """A source from its table. Raises KeyError or TypeError when it is none."""
    for value in raw.values():
        _word(value)
    return Source(id=source_id, **raw)


def medium_from(medium_id: str, raw: Mapping[str, Any]) -> Medium:
    """A medium from its table. Raises KeyError or TypeError when it is none."""
    return Medium(
        id=medium_id,
        name=_word(raw["name"]),
        values=_figures(raw),
        reuse=_word(raw["treatment"]) if raw["reusable"] is True else None,
        cautions=_words(raw.get("cautions", ())),
    )


def fish_from(fish_id: str, raw: Mapping[str, Any]) -> Fish:
    """A species of fish from its table. Raises KeyError or TypeError when it is none."""
    note = raw.get("note")
    return Fish(
        id=fish_id,
        name=_word(raw["name"]),
        values=_figures(raw),
        note=None if note is None else _word(note),
    )


def _waters(root: Path) -> dict[str, Mapping[str, Figure]]:
    def all_of_them(raw: Mapping[str, Any]) -> dict[str, Mapping[str, Figure]]:
        parted = (name.split(".") for name in _WATERS)
        there = [(kind, name) for kind, name in parted if name in raw.get(kind, {})]
        return {f"{kind}.{name}": _figures(raw[kind][name]) for kind, name in there}

    return _built(root / "fish.toml", all_of_them, _WATERS)


def _spoken(raw: Mapping[str, Any]) -> tuple[str, ...]:
    crop = raw["crop"]
    return (_word(crop["name"]), _word(crop["plural"]), *_words(crop.get("aliases", ())))


def _figures(raw: Mapping[str, Any]) -> Mapping[str, Figure]:
    return {key: figure_from(table) for key, table in raw["values"].items()}


def _read(
    file: Path,
    kind: str,
    build: Callable[[str, Mapping[str, Any]], Thing],
    ids: Iterable[str] | None = None,
) -> dict[str, Thing]:
    """The things of one kind in a file, by id; only those asked for, when any are."""
    wanted = None if ids is None else tuple(ids)

    def things(raw: Mapping[str, Any]) -> dict[str, Thing]:
        if wanted is None:
            return {key: build(key, table) for key, table in raw[kind].items()}
        there = raw.get(kind, {})
        return {key: build(key, there[key]) for key in wanted if key in there}

    return _built(file, things, None if wanted is None else [f"{kind}.{key}" for key in wanted])


def _built(
    file: Path, build: Callable[[Mapping[str, Any]], Thing], names: Iterable[str] | None = None
) -> Thing:
    """What `build` makes of a file's tables; of those with one of the names, when any is given."""
    text = _text(file)
    part = None if names is None else tables_of(text, names)
    tables = None if part is None else plain_tables(part)
    try:
        return build(_parsed(file, text) if tables is None else tables)
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        from cropplan.catalogue.check import first_fault  # Only when it is wrong.

        raise BadData(first_fault(file, text)) from fault


def _parsed(file: Path, text: str) -> dict[str, Any]:
    tables = plain_tables(text)
    return toml_tables(file.name, text) if tables is None else tables


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as fault:
        raise BadData(f"{file.name}: is not UTF-8 text; save it as UTF-8") from fault
    except OSError as fault:
        raise BadData(f"{file}: cannot be read ({fault.strerror})") from fault


def _crop_ids(root: Path) -> list[str]:
    return sorted(file.stem for file in (root / "crops").glob("*.toml"))


def _crop_file(root: Path, crop_id: str) -> Path:
    file = root / "crops" / f"{crop_id}.toml"
    if not file.is_file():
        near = did_you_mean(crop_id, _crop_ids(root))
        raise Refusal(f"no crop '{crop_id}' in the catalogue{near}")
    return file


def _number(value: object) -> float:
    # TOML's true would pass for 1, and text for its digits; both are slips of the hand.
    if type(value) is not int and type(value) is not float:
        raise TypeError(value)
    if not -_BEYOND < value < _BEYOND:
        raise ValueError(value)
    return value


def _word(value: object) -> str:
    if type(value) is not str:
        raise TypeError(value)
    return value


def _words(values: Iterable[object]) -> tuple[str, ...]:
    if isinstance(values, str):
        raise TypeError(values)
    return tuple(_word(value) for value in values)
