"""What a plan costs: shortfall first, then glut, then plants and weeks with striking.

The three aims are weighed in one sum, each a hundredth or a tenth of the one before. Solving them
one after the other was measured to be sixteen times slower and no better.
"""

from __future__ import annotations

from dataclasses import dataclass

GLUT_COST = 0.01  # [1 per weighted unit]
PLANT_COST = 0.001  # [1 per plant]
STRIKING_COST = 0.0005  # [1 per week with striking]; half a plant.
DEAD_COST = 100.0  # [1 per week and plant too few of a crop that must not die out]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What a plan misses and takes.

    shortfall, glut : summed over goals and weeks. [weighted unit]
    plants : plants struck or sown. [plant]
    striking_weeks : weeks in which anything is struck or sown. [week]
    dead_weeks : weeks in which plants are too few of crops that must not die out, times those
        plants. [plant week]
    """

    shortfall: float
    glut: float
    plants: int
    striking_weeks: int
    dead_weeks: int

    @property
    def total(self) -> float:
        """The one sum that is kept least."""
        return (
            self.shortfall
            + GLUT_COST * self.glut
            + PLANT_COST * self.plants
            + STRIKING_COST * self.striking_weeks
            + DEAD_COST * self.dead_weeks
        )
