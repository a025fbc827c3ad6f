"""The grower's own figures: a file of theirs beside the record, laid over the catalogue's.

The catalogue is replaced by an upgrade; this file never is. It holds figures only, by crop and key:

    [own.tomato.cutting_days_to_root]
    typical = 8
    unit = "d"
    note = "warm bench"
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from cropplan.catalogue.keys import CROP_KEYS
from cropplan.catalogue.lines import plain_tables, toml_tables
from cropplan.catalogue.model import Crop, Figure, Trust
from cropplan.catalogue.read import catalog_dir, figure_from, find_crop, read_crop
from cropplan.problems import BadData, Refusal, did_you_mean

SOURCE = "own"

_HEAD = "Your own figures: they stand over the catalogue's, and an upgrade leaves them alone."


def overlay(crops: Mapping[str, Crop], own: Path) -> dict[str, Crop]:
    """The crops with the grower's own figures over the catalogue's.

    A figure of one's own counts as a whole: of the catalogue's it keeps only what makes it
    countable, the unit, the base of a sum of warmth, and the light that lets the stage run freely.
    Raises BadData with file and line for a file that is wrong.
    """
    text = _text(own)
    tables = plain_tables(text)
    figures = (toml_tables(own.name, text) if tables is None else tables).get("own", {})
    try:
        return {
            crop_id: _with_own(crop, figures.get(crop_id, {})) for crop_id, crop in crops.items()
        }
    except (KeyError, TypeError, ValueError, AttributeError) as fault:
        from cropplan.catalogue.check import first_fault  # Only when it is wrong.

        raise BadData(first_fault(own, text)) from fault


def set_own(
    own: Path,
    crop: str,
    key: str,
    value: float,
    note: str | None = None,
    *,
    unit: str | None = None,
    folder: Path | None = None,
) -> Figure:
    """Write a figure of the grower's own, and answer with it.

    own : their file; made when it is not there. Its comments and other figures stay.
    crop : any name the crop goes by. key : as in `keys.CROP_KEYS`.
    unit : where the key allows several; the catalogue's when not given.
    Raises Refusal for an unknown crop, key or unit or a value that cannot be; nothing is written.
    Raises BadData when the file is wrong or cannot be written.
    """
    crop_id = find_crop(crop, folder)
    held = read_crop((folder or catalog_dir()) / "crops" / f"{crop_id}.toml")
    table = _own_table(held, key, value, note, unit)
    text = _text(own) if own.exists() else ""
    _refuse_faults(own, text)
    _write(own, _changed(text, crop_id, key, table))
    return _own_figure(key, table, held.values.get(key))


def _own_table(
    crop: Crop, key: str, value: float, note: str | None, unit: str | None
) -> dict[str, Any]:
    """The table to write. Raises Refusal with what cannot be."""
    if key not in CROP_KEYS:
        near = did_you_mean(key, CROP_KEYS) or f"; 'cropplan crops show {crop.id}' lists them"
        raise Refusal(f"no figure is called '{key}'{near}")
    base = crop.values.get(key)
    spoken = unit or (CROP_KEYS[key].units[0] if base is None else base.unit)
    table: dict[str, Any] = {
        "typical": int(value) if float(value).is_integer() else float(value),
        "unit": spoken,
    }
    if base is not None and spoken == base.unit == "degC d":
        table["base_c"] = base.base_c
    if note:
        table["note"] = note
    faults = _faults_of(crop.id, key, table)
    if faults:
        raise Refusal(f"{crop.id} {key} cannot be {value:g} {spoken}: {faults[0]}")
    return table


def _faults_of(crop_id: str, key: str, table: Mapping[str, Any]) -> list[str]:
    from cropplan.catalogue.figures import OWN_FIELDS, figure_faults
    from cropplan.catalogue.page import Page

    path = ("own", crop_id, key)
    page = Page(file="own", tables={"own": {crop_id: {key: table}}}, numbers={})
    faults = figure_faults(page, path, CROP_KEYS[key].units, None, fields=OWN_FIELDS)
    return [fault.message for fault in faults]


def _refuse_faults(own: Path, text: str) -> None:
    from cropplan.catalogue.check import check_text, first_fault

    if text.strip() and check_text(own.name, text):
        raise BadData(first_fault(own, text))


def _with_own(crop: Crop, own: Mapping[str, Mapping[str, Any]]) -> Crop:
    if not own:
        return crop
    figures = {key: _own_figure(key, table, crop.values.get(key)) for key, table in own.items()}
    return replace(crop, values={**crop.values, **figures})


def _own_figure(key: str, table: Mapping[str, Any], base: Figure | None) -> Figure:
    units = CROP_KEYS[key].units
    kept = {"unit": units[0]} if base is None else _kept(base, table.get("unit"))
    figure = figure_from({**kept, **table, "source": SOURCE, "trust": Trust.OWN.value})
    if figure.unit not in units:
        raise ValueError(figure)
    return figure


def _kept(base: Figure, unit: object) -> dict[str, Any]:
    kept: dict[str, Any] = {"unit": base.unit}
    if base.light_enough is not None:
        kept["light_enough"] = base.light_enough
    if base.unit == "degC d" and unit in {None, base.unit}:
        kept["base_c"] = base.base_c
        if base.ceiling_c is not None:
            kept["ceiling_c"] = base.ceiling_c
    return kept


def _changed(text: str, crop_id: str, key: str, table: Mapping[str, Any]) -> str:
    """The file's text with one figure set, all else as it was."""
    import tomlkit  # 21 ms, and only to write.

    document = tomlkit.parse(text)
    if not text:
        document.add(tomlkit.comment(_HEAD))
        document.add(tomlkit.nl())
    owns = document.setdefault("own", tomlkit.table(is_super_table=True))
    crop = owns.setdefault(crop_id, tomlkit.table(is_super_table=True))
    figure = crop.setdefault(key, tomlkit.table())
    # A new value stands for the whole figure: an old span or old points would belie it.
    for name in [name for name in figure if name not in table and name != "note"]:
        del figure[name]
    for name, value in table.items():
        figure[name] = value
    return tomlkit.dumps(document)


def _text(own: Path) -> str:
    try:
        return own.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as fault:
        raise BadData(f"{own.name}: is not UTF-8 text; save it as UTF-8") from fault
    except OSError as fault:
        raise BadData(f"{own}: cannot be read ({fault.strerror})") from fault


def _write(own: Path, text: str) -> None:
    """Beside, then renamed over: a reader sees the old file or the new one, never half of it."""
    beside: Path | None = None
    try:
        own.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(
            "w", encoding="utf-8", dir=own.parent, prefix=f".{own.name}.", delete=False
        ) as file:
            beside = Path(file.name)
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(own)
    except OSError as fault:
        if beside is not None:
            beside.unlink(missing_ok=True)
        raise BadData(f"{own}: cannot be written ({fault.strerror})") from fault
