"""The catalogue's files as values: TOML in, frozen dataclasses out, and nothing in between.

What is read here is on the path of the morning list, so it is checked only as far as needed to
never build a wrong value. When a file cannot be built, `check` reads it again at leisure and says
what is wrong on which line.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any, TypeVar

from cropplan.catalogue.keys import CROP_KEYS
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
_NUMBER_TYPES = (int, float)


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
    crop_ids: Iterable[str] | None = None, own: Path | None = None, *, folder: Path | None = None
) -> Catalogue:
    """The duties, cautions, media and fish, and of the crops only those asked for.

    crop_ids : ids of crops; None for all. own : the grower's own figures, laid over the
    catalogue's; a file that is not there holds none. folder : another catalogue than our own.
    Raises BadData with file and line when a file cannot be read, Refusal for an unknown crop.
    """
    root = folder or catalog_dir()
    wanted = _crop_ids(root) if crop_ids is None else sorted(set(crop_ids))
    crops = {crop_id: read_crop(_crop_file(root, crop_id)) for crop_id in wanted}
    if own is not None and own.is_file():
        from cropplan.catalogue.own import overlay  # noqa: PLC0415 (most growers have none)

        crops = overlay(crops, own)
    return Catalogue(
        crops=crops,
        media=_read(root / "media.toml", "media", medium_from),
        fish=_read(root / "fish.toml", "fish", fish_from),
        duties=_read(root / "duties.toml", "duty", duty_from),
        cautions=_read(root / "cautions.toml", "caution", caution_from),
    )


def read_crop(file: Path) -> Crop:
    """The crop in a file. Raises BadData with file and line."""
    return _built(file, crop_from)


def read_sources(folder: Path | None = None) -> Mapping[str, Source]:
    """Where the figures come from, by id. Raises BadData with file and line."""
    return _read((folder or catalog_dir()) / "sources.toml", "source", source_from)


def crop_index(folder: Path | None = None) -> Mapping[str, tuple[str, ...]]:
    """The words each crop goes by, its id first: name, plural and other names follow.

    Only the head of each file is read.
    """
    root = folder or catalog_dir()
    index: dict[str, tuple[str, ...]] = {}
    for crop_id in _crop_ids(root):
        file = _crop_file(root, crop_id)
        head, _, _ = _text(file).partition("\n[values")
        words = _parsed(file, head).get("crop", {})
        others = words.get("aliases", ())
        index[crop_id] = (crop_id, words.get("name", ""), words.get("plural", ""), *others)
    return index


def find_crop(text: str, folder: Path | None = None) -> str:
    """The id of the crop that goes by a word: its id, name, plural or another name.

    Capitals, and hyphens for spaces, make no difference.
    Raises Refusal, with the nearest word when there is one.
    """
    index = crop_index(folder)
    spoken = fold(text)
    for crop_id, words in index.items():
        if any(fold(word) == spoken for word in words):
            return crop_id
    known = [word for words in index.values() for word in words]
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
    for name in ("typical", "low", "high", "at_c", "base_c", "ceiling_c", "light_enough"):
        if name in fields:
            _number(fields[name])
    for name in ("unit", "source", "at", "note"):
        if name in fields:
            _word(fields[name])
    return Figure(**fields)


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
    values = {key: figure_from(table) for key, table in raw["values"].items()}
    for key, figure in values.items():
        if figure.unit not in CROP_KEYS[key].units:
            raise ValueError(key)
    return Crop(values=values, **fields)


def duty_from(duty_id: str, raw: Mapping[str, Any]) -> Duty:
    """A duty from its table. Raises KeyError, TypeError or ValueError when it is none."""
    fields = dict(raw)
    _word(fields["job"])
    fields["subject"] = SubjectKind(fields["subject"])
    fields["trigger"] = Trigger(fields["trigger"])
    fields["part"] = Part(fields["part"])
    fields["keeps"] = Keeps(fields["keeps"])
    fields["rank"] = Rank[_word(fields["rank"]).upper().replace("-", "_")]
    _number(fields["minutes_each"])
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
    """A source from its table. Raises TypeError when it is none."""
    return Source(id=source_id, **raw)


def medium_from(medium_id: str, raw: Mapping[str, Any]) -> Medium:
    """A medium from its table. Raises KeyError or TypeError when it is none."""
    fields = _with_figures(medium_id, raw)
    return Medium(
        id=medium_id,
        name=fields["name"],
        values=fields["values"],
        reuse=_word(fields["treatment"]) if fields["reusable"] is True else None,
        cautions=_words(fields.get("cautions", ())),
    )


def fish_from(fish_id: str, raw: Mapping[str, Any]) -> Fish:
    """A species of fish from its table. Raises KeyError or TypeError when it is none."""
    return Fish(**_with_figures(fish_id, raw))


def _with_figures(thing_id: str, raw: Mapping[str, Any]) -> dict[str, Any]:
    fields = dict(raw)
    _word(fields["name"])
    fields["id"] = thing_id
    fields["values"] = {key: figure_from(t) for key, t in fields.get("values", {}).items()}
    return fields


def _read(
    file: Path, kind: str, build: Callable[[str, Mapping[str, Any]], Thing]
) -> dict[str, Thing]:
    """All things of one kind in a file, by id."""
    return _built(file, lambda raw: {key: build(key, table) for key, table in raw[kind].items()})


def _built(file: Path, build: Callable[[Mapping[str, Any]], Thing]) -> Thing:
    text = _text(file)
    try:
        return build(_parsed(file, text))
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        from cropplan.catalogue.check import first_fault  # noqa: PLC0415 (only when it is wrong)

        raise BadData(first_fault(file, text)) from fault


def _parsed(file: Path, text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as fault:
        from cropplan.catalogue.lines import toml_fault  # noqa: PLC0415 (only when it is wrong)

        raise BadData(str(toml_fault(file.name, text, fault))) from fault


def _text(file: Path) -> str:
    try:
        return file.read_text(encoding="utf-8")
    except UnicodeDecodeError as fault:
        raise BadData(f"{file.name}: is not UTF-8 text; save it as UTF-8") from fault
    except OSError as fault:
        raise BadData(f"{file}: cannot be read ({fault.strerror})") from fault


def _crop_ids(root: Path) -> list[str]:
    return sorted(file.stem for file in (root / "crops").glob("*.toml"))


def _crop_file(root: Path, crop_id: str) -> Path:
    file = root / "crops" / f"{crop_id}.toml"
    if not file.is_file():
        raise Refusal(f"no crop '{crop_id}' in the catalogue{did_you_mean(crop_id, _crop_ids(root))}")
    return file


def _number(value: object) -> float:
    # TOML's true would pass for 1, and text for its digits; both are slips of the hand.
    if type(value) not in _NUMBER_TYPES:
        raise TypeError(value)
    return value  # type: ignore[return-value]


def _word(value: object) -> str:
    if type(value) is not str:
        raise TypeError(value)
    return value


def _words(values: Iterable[object]) -> tuple[str, ...]:
    if isinstance(values, str):
        raise TypeError(values)
    return tuple(_word(value) for value in values)
