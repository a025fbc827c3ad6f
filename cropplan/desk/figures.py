"""The catalogue as a grower asks about it: its crops, their figures with sources, and own ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from cropplan.catalogue.check import check_catalogue
from cropplan.catalogue.keys import CROP_KEYS
from cropplan.catalogue.model import Caution, Crop, Source
from cropplan.catalogue.own import set_own
from cropplan.catalogue.read import find_crop, read_catalogue, read_sources
from cropplan.desk.desk import Outcome
from cropplan.problems import Problem


@dataclass(frozen=True, slots=True, kw_only=True)
class CropPage:
    """A crop with all that its figures rest on.

    says : what each figure of it means. sources, cautions : those it names.
    """

    crop: Crop
    says: Mapping[str, str]
    sources: Mapping[str, Source]
    cautions: Mapping[str, Caution]


def crops(own: Path) -> list[Crop]:
    """Every crop of the catalogue, the grower's own figures laid over."""
    known = read_catalogue(None, own).crops.values()
    return sorted(known, key=lambda crop: crop.name.casefold())


def crop_page(own: Path, text: str) -> CropPage:
    """One crop, by any name it goes by. Raises Refusal with a near name."""
    crop_id = find_crop(text)
    catalogue = read_catalogue([crop_id], own)
    crop = catalogue.crops[crop_id]
    named = {figure.source for figure in crop.values.values()}
    return CropPage(
        crop=crop,
        says={key: CROP_KEYS[key].says for key in crop.values},
        sources={id_: source for id_, source in read_sources().items() if id_ in named},
        cautions={id_: c for id_, c in catalogue.cautions.items() if id_ in crop.cautions},
    )


def set_figure(
    own: Path,
    crop: str,
    key: str,
    value: float,
    *,
    unit: str | None = None,
    note: str | None = None,
) -> Outcome:
    """Write a figure of the grower's own, over the catalogue's."""
    figure = set_own(own, crop, key, value, note, unit=unit)
    line = f"{find_crop(crop)} {key}: {figure.typical:g} {figure.unit}, your own figure, in {own}"
    return Outcome(said=(line,))


def check_files(own: Path, target: Path | None = None) -> list[Problem]:
    """What is wrong with a file or folder, or with the whole catalogue and the own figures."""
    if target is not None:
        return check_catalogue(target)
    return [*check_catalogue(), *(check_catalogue(own) if own.is_file() else [])]
