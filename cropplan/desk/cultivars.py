"""Names of cultivars: one kind must not live under two spellings."""

from __future__ import annotations

from difflib import get_close_matches

from cropplan.holding.holding import Holding
from cropplan.problems import Refusal


def settled_name(holding: Holding, crop: str, typed: str, *, new: bool) -> str:
    """The spelling the record already uses for a kind, or the typed one when it is a new kind.

    new : the grower has said that it is another kind than the near name.
    Raises Refusal when the name is near to a known one and nobody said that it is new.
    """
    name = " ".join(typed.split())
    known = {
        _folded(p.cultivar): p.cultivar
        for p in holding.plantings.values()
        if p.crop == crop and p.cultivar
    }
    same = known.get(_folded(name))
    if same is not None:
        return same
    near = get_close_matches(_folded(name), known, n=1, cutoff=0.75)
    if near and not new:
        raise Refusal(
            f"'{name}' is near to '{known[near[0]]}', which the record knows; "
            "write that, or add --new-cultivar if it is another kind"
        )
    return name


def _folded(name: str) -> str:
    return "".join(letter for letter in name.casefold() if letter.isalnum())
