"""The sun over a place: declination, radiation above the air, and the length of the day.

Two definitions of the day are kept apart. FAO-56 counts from the sun's centre on a bare horizon;
it belongs inside the radiation equations and is 7 to 29 minutes short of what an almanac prints.
`day_length` is the almanac's: upper edge of the disc, bent by the air. It is the one to show.
"""

from __future__ import annotations

from datetime import date, timedelta
from functools import lru_cache
from math import acos, asin, cos, degrees, pi, radians, sin, tan

from cropplan.problems import Refusal

SOLAR_CONSTANT = 0.0820
"""Energy from the sun above the air. [MJ m-2 min-1] Allen et al. 1998, FAO-56, eq. 21."""

HORIZON_DIP = 0.8333
"""The sun's centre is this far under the horizon when its upper edge shows: 34' of refraction and
16' of half-disc. [°] Forsythe et al. 1995, Ecological Modelling 80:87-95, p = 0.8333."""

_J2000 = date(2000, 1, 1)


def relative_distance(day_of_year: int) -> float:
    """Inverse relative distance from earth to sun, d_r. [-]

    day_of_year : 1 to 366. [d]
    Source: Allen et al. 1998, FAO-56, eq. 23.
    """
    return 1 + 0.033 * cos(2 * pi * day_of_year / 365)


def declination(day_of_year: int) -> float:
    """Solar declination, delta, the simple form that belongs to eq. 21. [rad]

    day_of_year : 1 to 366. [d]
    Source: Allen et al. 1998, FAO-56, eq. 24.
    """
    return 0.409 * sin(2 * pi * day_of_year / 365 - 1.39)


def sunset_hour_angle(latitude: float, day_of_year: int) -> float:
    """Sunset hour angle, omega_s: 0 in polar night, pi in polar day. [rad]

    latitude : north positive, -90 to 90. [°]
    day_of_year : 1 to 366. [d]
    Raises Refusal when the latitude is not on the globe.
    Source: Allen et al. 1998, FAO-56, eq. 25, the cosine held to [-1, 1] beyond the polar circles.
    """
    phi = _latitude_in_radians(latitude)
    return acos(_held(-tan(phi) * tan(declination(day_of_year))))


def geometric_day_length(latitude: float, day_of_year: int) -> float:
    """Hours with the sun's centre above a bare horizon, N. [h]

    Only for `light.radiation_from_sunshine`; people are shown `day_length`.
    Source: Allen et al. 1998, FAO-56, eq. 34.
    """
    return 24 / pi * sunset_hour_angle(latitude, day_of_year)


def extraterrestrial_radiation(latitude: float, day: date) -> float:
    """Energy reaching a level plane above the air in one day, R_a. [MJ m-2 d-1]

    latitude : north positive, -90 to 90; used beyond the polar circles with the hour angle held at
        its limits. [°]
    Its simple declination runs a day and a half off: against pvlib the worst day is 2.5 % out at
    36°, 5 % at 55°, 13 % at 65° in November, the year 1 to 2 %. A site's clearness, which is a
    ratio to this very figure, takes that up.
    Raises Refusal when the latitude is not on the globe.
    Source: Allen et al. 1998, FAO-56, eq. 21; checked in tests/published/test_growth_sun.py.
    """
    day_of_year = day.timetuple().tm_yday
    phi = _latitude_in_radians(latitude)
    delta = declination(day_of_year)
    omega = acos(_held(-tan(phi) * tan(delta)))
    height = omega * sin(phi) * sin(delta) + cos(phi) * cos(delta) * sin(omega)
    return 24 * 60 / pi * SOLAR_CONSTANT * relative_distance(day_of_year) * height


def day_length(
    latitude: float, day: date, *, longitude: float = 0.0, dip: float = HORIZON_DIP
) -> float:
    """Hours from sunrise to sunset as an almanac gives them. [h]

    latitude : north positive, -90 to 90. [°]
    longitude : east positive; it fixes the moment of noon, worth up to 3 min at 65°. [°]
    dip : how far under the horizon the sun's centre may be; 6 adds civil twilight. [°]
    Returns 0 in polar night and 24 in polar day; within 2 min of an ephemeris to 65°.
    Raises Refusal when the latitude is not on the globe.
    Source: the low-precision sun of the Astronomical Almanac, section C (0.01°, 1950 to 2050);
    checked in tests/published/test_growth_sun.py.
    """
    phi = _latitude_in_radians(latitude)
    noon = (day - _J2000).days - longitude / 360
    half_day = _half_day(phi, noon, dip)
    # The sun's declination moves while the day lasts: take it at sunrise and at sunset.
    rise = _half_day(phi, noon - half_day / 24, dip)
    fall = _half_day(phi, noon + half_day / 24, dip)
    return rise + fall


@lru_cache(maxsize=64)
def days_below(latitude: float, year: int, hours: float = 10) -> tuple[tuple[date, date], ...]:
    """The dark windows that begin in a year: first and last day shorter than so many hours.

    latitude : north positive, -90 to 90. [°]
    hours : growth of leaf crops all but stops under ten hours of day (common practice, no
        source). [h]
    Returns (first day, last day) pairs in order. In the north the last day lies in the next
    year, in the south in the same one. A place that is dark the year round gives the whole year,
    a place that never is gives none.
    """
    first, end = date(year, 1, 1), date(year + 2, 1, 1)
    dark = [day_length(latitude, first - timedelta(days=1)) < hours]
    windows: list[tuple[date, date]] = []
    opened: date | None = None
    day = first
    while day < end:
        dark.append(day_length(latitude, day) < hours)
        if dark[-1] and not dark[-2] and day.year == year:
            opened = day
        if opened and not dark[-1]:
            windows.append((opened, day - timedelta(days=1)))
            opened = None
        if day.year > year and opened is None:
            break
        day += timedelta(days=1)
    if all(dark):
        return ((first, date(year, 12, 31)),)
    return tuple(windows)


def _half_day(phi: float, days_since_j2000: float, dip: float) -> float:
    delta = _apparent_declination(days_since_j2000)
    cosine = (-sin(radians(dip)) - sin(phi) * sin(delta)) / (cos(phi) * cos(delta))
    return degrees(acos(_held(cosine))) / 15


def _apparent_declination(days_since_j2000: float) -> float:
    anomaly = radians(357.528 + 0.9856003 * days_since_j2000)
    mean_longitude = 280.460 + 0.9856474 * days_since_j2000
    longitude = radians(mean_longitude + 1.915 * sin(anomaly) + 0.020 * sin(2 * anomaly))
    obliquity = radians(23.439 - 0.0000004 * days_since_j2000)
    return asin(sin(obliquity) * sin(longitude))


def _latitude_in_radians(latitude: float) -> float:
    if not -90 <= latitude <= 90:
        raise Refusal(
            f"latitude '{latitude:g}' is not on the globe; it runs from -90 (south) to 90"
        )
    return radians(latitude)


def _held(cosine: float) -> float:
    return max(-1.0, min(1.0, cosine))
