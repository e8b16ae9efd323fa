"""UTM zones and the letters of MGRS, the Military Grid Reference System, between 80°S and 84°N on WGS84.

Rules from NGA.STND.0037 (Universal Grids and Grid Reference Systems), written here from memory and checked against
published pairs in tests/published: zones of 6° with the exceptions of south Norway and Svalbard, bands of 8° without I
and O, columns in three sets, rows that repeat every 2,000 km.
"""

from walks.compute.map_squares import SQUARE_M, ReferenceRefused, corner, figures, split_digits
from walks.compute.projections import utm_grid

BANDS = "CDEFGHJKLMNPQRSTUVWX"
COLUMN_SETS = ("ABCDEFGH", "JKLMNPQR", "STUVWXYZ")
ROWS = "ABCDEFGHJKLMNPQRSTUV"
CYCLE_M = len(ROWS) * SQUARE_M
EQUATOR = 0.000001
"""Degrees, 0.11 m: what is nearer to the equator cannot be told from it."""

EXAMPLE = "31U DQ 482 119"
SVALBARD = ((9, 31), (21, 33), (33, 35), (42, 37))
"""In band X: zone by the longitude, in degrees, below which it is used."""


def utm_zone(latitude: float, longitude: float) -> int:
    """UTM zone (1 to 60) of a WGS84 position in degrees; ValueError outside 80°S to 84°N, where UTM is not used."""
    if not (-80 <= latitude <= 84 and -180 <= longitude <= 180):
        raise ValueError(f"{latitude}, {longitude} is outside UTM, which is used from 80°S to 84°N.")
    if 56 <= latitude < 64 and 3 <= longitude < 12:
        return 32
    if latitude >= 72 and 0 <= longitude < 42:
        return next(zone for limit, zone in SVALBARD if longitude < limit)
    return min(int((longitude + 180) // 6) + 1, 60)


def band_of(latitude: float) -> str:
    """The band letter of a latitude in degrees, 80°S to 84°N; the last band, X, is 12° high."""
    return BANDS[min(int((latitude + 80) // 8), len(BANDS) - 1)]


def to_utm(latitude: float, longitude: float) -> tuple[int, float, float]:
    """Zone, easting and northing in metres of a WGS84 position; southern northings carry the 10,000 km.

    Less than `EQUATOR` south of it counts as on the equator, or else what is added before a cut would leave the south.
    """
    zone = utm_zone(latitude, longitude)
    easting, northing = utm_grid(zone, is_south(latitude)).from_wgs84(_snapped(latitude), longitude)
    return zone, easting, northing


def is_south(latitude: float) -> bool:
    """True if a position has its northing counted from 10,000 km down."""
    return _snapped(latitude) < 0


def to_mgrs(latitude: float, longitude: float, precision_m: int = 10) -> str:
    """MGRS reference of a WGS84 position, cut off at 1 to 10,000 m: "31U DQ 4825 1193"."""
    zone, easting, northing = to_utm(latitude, longitude)
    column = COLUMN_SETS[(zone - 1) % 3][corner(easting, precision_m) // SQUARE_M - 1]
    row = ROWS[(corner(northing, precision_m) // SQUARE_M + _row_shift(zone)) % len(ROWS)]
    return f"{zone}{band_of(_snapped(latitude))} {column}{row} {figures(easting, northing, precision_m)}"


def from_mgrs(typed: str, zone: int, band: str, square: str, digits: str) -> tuple[float, float, int]:
    """WGS84 latitude and longitude of the south-west corner, and the size in metres of the square named.

    ReferenceRefused for a zone, band or square that does not exist, or does not lie where the band is.
    """
    if not 1 <= zone <= 60:
        raise ReferenceRefused(typed, f"has zone {zone}; zones are 1 to 60.", EXAMPLE)
    if band not in BANDS:
        raise ReferenceRefused(typed, f"has band {band}; bands are C to X without I and O.", EXAMPLE)
    columns = COLUMN_SETS[(zone - 1) % 3]
    if square[0] not in columns or square[1] not in ROWS:
        raise ReferenceRefused(typed, f"has square {square}; zone {zone} has none of that name.", EXAMPLE)
    east, north, size = split_digits(typed, digits, EXAMPLE)
    easting = (columns.index(square[0]) + 1) * SQUARE_M + east
    row = (ROWS.index(square[1]) - _row_shift(zone)) % len(ROWS)
    latitude, longitude = _in_band(typed, zone, band, (easting, row * SQUARE_M + north))
    return latitude, longitude, size


def _snapped(latitude: float) -> float:
    return 0.0 if -EQUATOR < latitude < 0 else latitude


def _row_shift(zone: int) -> int:
    """Even zones begin their rows at F, odd zones at A."""
    return 5 if zone % 2 == 0 else 0


def _in_band(typed: str, zone: int, band: str, point: tuple[int, int]) -> tuple[float, float]:
    """The one point among the 2,000 km repetitions that lies in the band: a corner may lie a square's height below it,
    or above it by what is added before a cut."""
    grid, bottom = utm_grid(zone, band < "N"), BANDS.index(band) * 8 - 80
    top = 84 if band == "X" else bottom + 8
    for cycle in range(5):
        latitude, longitude = grid.to_wgs84(point[0], point[1] + cycle * CYCLE_M)
        if bottom - 1 < latitude < top + EQUATOR:
            return latitude, longitude
    raise ReferenceRefused(typed, f"has a square that is not in band {band} of zone {zone}.", EXAMPLE)
