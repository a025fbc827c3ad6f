"""The steps by which a record of any age becomes one of today, in order.

Step n is frozen once released: it holds its own SQL, imports nothing of ours, runs inside the
transaction that `schema` opens, and must not end it. A change of the tables is a new step.
"""

from cropplan.record.migrations import (
    m001_first_tables,
    m002_lessons,
    m003_keys,
    m004_sync,
    m005_season,
    m006_water,
    m007_plan_and_work,
)

STEPS = (
    m001_first_tables.step,
    m002_lessons.step,
    m003_keys.step,
    m004_sync.step,
    m005_season.step,
    m006_water.step,
    m007_plan_and_work.step,
)
