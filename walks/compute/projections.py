"""Map grids: from WGS84 degrees to metres on a grid and back.

Transverse Mercator by the library pyproj, with every parameter written out here and without its network grids, so that
the same input gives the same output on every machine.

Accuracy. The shift between WGS84 and the map's own datum is a seven-parameter Helmert transformation: about 5 m for the
National Grid (Ordnance Survey, "A guide to coordinate systems in Great Britain", section 6.6; the exact OSTN15 needs
a grid file that is not used), about 1 m for the Irish Grid (EPSG transformation 1954, from PROJ's database). UTM on
WGS84 needs no shift. Good enough to meet people, not to survey.
"""

from dataclasses import dataclass
from functools import cache

from pyproj import Transformer

DEGREES = "+proj=unitconvert +xy_in=deg +xy_out=rad"


@dataclass(frozen=True, slots=True)
class Grid:
    """A metre grid: its ellipsoid, its projection and its Helmert shift to WGS84, as parameters of PROJ.

    `shift` is None where the grid stands on WGS84 itself.
    """

    ellipsoid: str
    projection: str
    shift: str | None = None

    def from_own_degrees(self, latitude: float, longitude: float) -> tuple[float, float]:
        """Easting and northing in metres of a position in degrees on the grid's own datum."""
        return _transformed(self._projecting(), longitude, latitude, inverse=False)

    def from_wgs84(self, latitude: float, longitude: float) -> tuple[float, float]:
        """Easting and northing in metres of a WGS84 position in degrees."""
        return _transformed(self._pipeline(), longitude, latitude, inverse=False)

    def to_wgs84(self, easting: float, northing: float) -> tuple[float, float]:
        """WGS84 latitude and longitude in degrees of a point on the grid in metres."""
        longitude, latitude = _transformed(self._pipeline(), easting, northing, inverse=True)
        return latitude, longitude

    def _projecting(self) -> str:
        return f"+proj=pipeline +step {DEGREES} +step {self.projection} {self.ellipsoid}"

    def _pipeline(self) -> str:
        if self.shift is None:
            return self._projecting()
        return (
            f"+proj=pipeline +step {DEGREES} +step +proj=push +v_3 +step +proj=cart +ellps=WGS84"
            f" +step +inv +proj=helmert {self.shift} +convention=position_vector"
            f" +step +inv +proj=cart {self.ellipsoid} +step +proj=pop +v_3 +step {self.projection} {self.ellipsoid}"
        )


NATIONAL_GRID = Grid(
    ellipsoid="+a=6377563.396 +b=6356256.909",
    projection="+proj=tmerc +lat_0=49 +lon_0=-2 +k=0.9996012717 +x_0=400000 +y_0=-100000",
    shift="+x=446.448 +y=-125.157 +z=542.060 +rx=0.1502 +ry=0.2470 +rz=0.8421 +s=-20.4894",
)
"""Great Britain: datum OSGB36, ellipsoid Airy 1830, true origin 49°N 2°W (Ordnance Survey, the guide's annex A)."""

IRISH_GRID = Grid(
    ellipsoid="+a=6377340.189 +rf=299.3249646",
    projection="+proj=tmerc +lat_0=53.5 +lon_0=-8 +k=1.000035 +x_0=200000 +y_0=250000",
    shift="+x=482.5 +y=-130.6 +z=564.6 +rx=-1.042 +ry=-0.214 +rz=-0.631 +s=8.15",
)
"""Ireland: datum TM75, ellipsoid Airy Modified 1849, true origin 53°30'N 8°W (EPSG 29903)."""


@cache
def utm_grid(zone: int, south: bool) -> Grid:
    """The Universal Transverse Mercator grid of a zone (1 to 60) on WGS84; false northing 10,000 km in the south."""
    return Grid(ellipsoid="+ellps=WGS84", projection=f"+proj=utm +zone={zone}{' +south' if south else ''}")


def _transformed(pipeline: str, x: float, y: float, *, inverse: bool) -> tuple[float, float]:
    result = _transformer(pipeline).transform(x, y, direction="INVERSE" if inverse else "FORWARD", errcheck=True)
    return float(result[0]), float(result[1])


@cache
def _transformer(pipeline: str) -> Transformer:
    return Transformer.from_pipeline(pipeline)
