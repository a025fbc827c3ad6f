"""What the journal is told when places are cared for, by a tick or by the command."""

from __future__ import annotations

from collections.abc import Sequence

from cropplan.holding import turns
from cropplan.holding.entry import Act, Done, Tended
from cropplan.holding.holding import Holding
from cropplan.holding.place import Care
from cropplan.holding.task import SubjectKind, subject


def care_acts(
    holding: Holding, places: Sequence[str], care: Care, *, medium: str | None = None
) -> list[Act]:
    """The work; disinfecting also answers the lines that asked for it, so that their turns move."""
    acts: list[Act] = [Tended(places=tuple(places), care=care, medium=medium)]
    known = [holding.places[code] for code in places if code in holding.places]
    asked = [p.code for p in known if p.disease_on is not None and p.medium is None]
    if care is Care.DISINFECT and asked:
        about = tuple(subject(SubjectKind.PLACE, code) for code in asked)
        acts.append(Done(duty=turns.DISINFECT, subjects=about))
    return acts
