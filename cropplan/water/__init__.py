"""Fish water in numbers: feed, solids, ammonia, oxygen, test readings and the water level.

Functions over numbers and dates only. Nothing here knows a crop or a fish by name, reads a file
or asks the day; figures that differ by fish or filter come in as arguments from the catalogue.
SI units throughout: grams, litres, square metres, degrees Celsius, kilopascals.
"""
