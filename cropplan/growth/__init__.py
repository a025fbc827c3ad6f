"""Growth: what light, temperature and time do to a stage, as functions over numbers and dates.

Nothing here knows a crop's name, a file, a clock or a unit outside the SI (degrees Celsius and
days are kept, since every source uses them). Read in this order: `sun` (the sky), `light` (what
comes through the cover), `warmth` (the temperature of a day), `stages` (how long a stage takes in
such weather), `chance` (how sure that is), `learning` (what the house's own records change),
`rooting` (how many to strike, when to give up), `yields` (what to expect in the picking basket).
`readings` turns a logger's text into days.
"""
