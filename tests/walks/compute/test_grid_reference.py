"""Places as typed, as meant, and refused with which sentence; and back to what a map shows."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pyproj.transformer import TransformerGroup

from walks.compute.grid_reference import (
    Reference,
    parse_reference,
    to_irish_grid,
    to_national_grid,
    to_utm_reference,
)
from walks.compute.map_squares import ReferenceRefused, on_irish_grid
from walks.compute.mgrs import to_mgrs, utm_zone
from walks.compute.projections import IRISH_GRID, NATIONAL_GRID, Grid

CAISTER = (52.657977, 1.716038)
READ = [
    ("TG 51409 13177", "National Grid", "OSGB36", 1, *CAISTER),
    ("tg5140913177", "National Grid", "OSGB36", 1, *CAISTER),
    ("  TG  51409  13177 ", "National Grid", "OSGB36", 1, *CAISTER),
    ("TG 5140 1317", "National Grid", "OSGB36", 10, 52.657918, 1.7159),
    ("TG 514 131", "National Grid", "OSGB36", 100, 52.65729, 1.715847),
    ("651409, 313177", "National Grid", "OSGB36", 1, *CAISTER),
    ("651409 313177", "National Grid", "OSGB36", 1, *CAISTER),
    ("E651409 N313177", "National Grid", "OSGB36", 1, *CAISTER),
    ("O 15904 34671", "Irish Grid", "TM75", 1, 53.349796, -6.260249),
    ("o159346", "Irish Grid", "TM75", 100, 53.349159, -6.260335),
    ("31U DQ 48251 11932", "MGRS", "WGS84", 1, 48.858194, 2.294489),
    ("31udq48251193", "MGRS", "WGS84", 10, 48.858176, 2.294476),
    ("56H LH 34368 50948", "MGRS", "WGS84", 1, -33.868803, 151.209293),
    ("31N 448251 5411932", "UTM", "WGS84", 1, 48.858194, 2.294489),
    ("UTM zone 31 north, 448251 mE, 5411932 mN", "UTM", "WGS84", 1, 48.858194, 2.294489),
    ("56 south 334368 6250948", "UTM", "WGS84", 1, -33.868803, 151.209293),
    ("52.65798, 1.71605", "decimal degrees", "WGS84", 1, 52.65798, 1.71605),
    ("52.658 -1.716", "decimal degrees", "WGS84", 111, 52.658, -1.716),
    ("52.66° N, 1.72° W", "decimal degrees", "WGS84", 1111, 52.66, -1.72),
    ("−33.8688, 151.2093", "decimal degrees", "WGS84", 11, -33.8688, 151.2093),
    ("N52.658 W1.716", "decimal degrees", "WGS84", 111, 52.658, -1.716),
    ("52 39.479 N 1 42.963 E", "degrees and minutes", "WGS84", 2, 52.657983, 1.71605),
    ("52°39.479\u2032N 1°42.963\u2032W", "degrees and minutes", "WGS84", 2, 52.657983, -1.71605),
    ("S 52° 39.479' E 1° 42.963'", "degrees and minutes", "WGS84", 2, -52.657983, 1.71605),
    ("52°39'28.723\"N 1°42'57.787\"E", "degrees and minutes", "WGS84", 1, 52.657979, 1.716052),
    ("52 39 N 1 42 E", "degrees and minutes", "WGS84", 1852, 52.65, 1.7),
]


@pytest.mark.parametrize(("typed", "system", "datum", "precision_m", "latitude", "longitude"), READ)
def test_what_is_typed_is_read_as_it_is_meant(
    typed: str, system: str, datum: str, precision_m: int, latitude: float, longitude: float
) -> None:
    reference = parse_reference(typed)

    assert (reference.as_typed, reference.system, reference.datum) == (typed, system, datum)
    assert reference.precision_m == precision_m
    assert (reference.latitude, reference.longitude) == pytest.approx((latitude, longitude), abs=1e-6)


@pytest.mark.parametrize(
    ("typed", "corner", "precision_m"),
    [("TG 514 131", "651400, 313100", 100), ("TG 51 13", "651000, 313000", 1000), ("TG 5 1", "650000, 310000", 10000)],
)
def test_a_reference_names_the_south_west_corner_of_its_square(typed: str, corner: str, precision_m: int) -> None:
    square, point = parse_reference(typed), parse_reference(corner)

    assert (square.latitude, square.longitude) == (point.latitude, point.longitude)
    assert square.precision_m == precision_m


UNREADABLE = (
    "is no place that can be read. Write it as TG 514 131 or 651409, 313177 or O 159 346 or 52.65798, 1.71605 "
    "or 52 39.479 N 1 42.963 E."
)
HALVES = "needs as many figures for the easting as for the northing. Write it as TG 514 131."
REFUSED = [
    ("", UNREADABLE),
    ("by the old oak", UNREADABLE),
    ("52,658 1,716", UNREADABLE),
    ("TG", "has 0 figures after the letters; it needs 2 to 10. Write it as TG 514 131."),
    ("TG 514091 131772", "has 12 figures after the letters; it needs 2 to 10. Write it as TG 514 131."),
    ("TG 514 13", HALVES),
    ("TG 514 1317", HALVES),
    ("TG 5140 131", HALVES),
    ("TG 51 40 13 17", HALVES),
    ("TI 514 131", "begins with TI, which is no square of the National Grid. Write it as TG 514 131."),
    ("ZZ 514 131", "begins with ZZ, which is no square of the National Grid. Write it as TG 514 131."),
    ("I 159 346", "begins with I, which is no square of the Irish Grid. Write it as O 159 346."),
    ("O 159 34", "needs as many figures for the easting as for the northing. Write it as O 159 346."),
    (
        "700000, 313177",
        "is outside the National Grid: eastings end at 700000, northings at 1300000 metres. "
        "Write it as 651409, 313177.",
    ),
    (
        "651409, 1300000",
        "is outside the National Grid: eastings end at 700000, northings at 1300000 metres. "
        "Write it as 651409, 313177.",
    ),
    (
        "31S 448251 5411932",
        "does not say whether S is the south or the band S in the north. "
        "Write it as 31N 448251 5411932 or 31 south 448251 5411932.",
    ),
    (
        "61N 448251 5411932",
        "has zone 61; zones are 1 to 60. Write it as 31N 448251 5411932 or 31 south 448251 5411932.",
    ),
    (
        "31N 48251 5411932",
        "has an easting or a northing that no UTM zone reaches. "
        "Write it as 31N 448251 5411932 or 31 south 448251 5411932.",
    ),
    ("0U DQ 482 119", "has zone 0; zones are 1 to 60. Write it as 31U DQ 482 119."),
    ("31I DQ 482 119", "has band I; bands are C to X without I and O. Write it as 31U DQ 482 119."),
    ("31U AQ 482 11", "needs as many figures for the easting as for the northing. Write it as 31U DQ 482 119."),
    ("31U JQ 482 119", "has square JQ; zone 31 has none of that name. Write it as 31U DQ 482 119."),
    ("31U DW 482 119", "has square DW; zone 31 has none of that name. Write it as 31U DQ 482 119."),
    ("31F DQ 482 119", "has a square that is not in band F of zone 31. Write it as 31U DQ 482 119."),
    ("91.55, 1.75", "has a latitude beyond 90 degrees; the latitude comes first. Write it as 52.65798, 1.71605."),
    ("1.75, 181.55", "has a longitude beyond 180 degrees. Write it as 52.65798, 1.71605."),
    ("52, 1", "is too coarse to meet at: write at least two decimals of a degree. Write it as 52.65798, 1.71605."),
    ("52.6, 1.7", "is too coarse to meet at: write at least two decimals of a degree. Write it as 52.65798, 1.71605."),
    ("52 60 N 1 42 E", "has minutes or seconds of 60 or more. Write it as 52 39.479 N 1 42.963 E."),
    ("52.5 39 N 1.5 42 E", "is no angle in degrees, minutes and seconds. Write it as 52 39.479 N 1 42.963 E."),
    ("52 39.5 N 1.71 E", "gives latitude and longitude in two different forms. Write it as 52 39.479 N 1 42.963 E."),
]


@pytest.mark.parametrize(("typed", "sentence"), REFUSED)
def test_what_names_no_place_is_refused_with_the_form_expected(typed: str, sentence: str) -> None:
    with pytest.raises(ReferenceRefused) as refused:
        parse_reference(typed)

    assert str(refused.value) == f"“{typed}” {sentence}"


@pytest.mark.parametrize(
    ("precision_m", "shown"),
    [(1, "TG 51409 13177"), (10, "TG 5140 1317"), (100, "TG 514 131"), (1000, "TG 51 13"), (10000, "TG 5 1")],
)
def test_a_reference_is_cut_off_never_rounded(precision_m: int, shown: str) -> None:
    assert to_national_grid(52.657979, 1.716052, precision_m) == shown


@pytest.mark.parametrize("precision_m", [0, 5, 50, 100_000])
def test_a_precision_is_a_power_of_ten_up_to_10_km(precision_m: int) -> None:
    with pytest.raises(ValueError, match=f"A precision is 1, 10, 100, 1000 or 10000 metres, not {precision_m}"):
        to_national_grid(*CAISTER, precision_m)


def test_a_place_off_a_grid_has_no_reference_on_it() -> None:
    with pytest.raises(ValueError, match="is not on the National Grid of Great Britain"):
        to_national_grid(48.858194, 2.294489)
    with pytest.raises(ValueError, match="is not on the Irish Grid"):
        to_irish_grid(*CAISTER)


@pytest.mark.parametrize(("east", "north", "on"), [(499_999, 499_999, True), (500_000, 0, False), (0, 500_000, False)])
def test_the_irish_grid_ends_at_500_km(east: int, north: int, on: bool) -> None:
    assert on_irish_grid(east, north) is on


@pytest.mark.filterwarnings("ignore:Best transformation is not available")
@pytest.mark.parametrize(
    ("grid", "epsg", "operation", "metres"),
    [(NATIONAL_GRID, 27700, "OSGB36 to WGS 84 (6)", 0.02), (IRISH_GRID, 29903, "TM75 to WGS 84 (2)", 0.001)],
)
@pytest.mark.parametrize(
    "place", [(53.35, -6.26), (51.5, -9.9), (55.3, -7.4), (54.6, -5.9), (50.1, -5.5), (58.6, -3.1)]
)
def test_the_grids_agree_with_the_epsg_register(
    grid: Grid, epsg: int, operation: str, metres: float, place: tuple[float, float]
) -> None:
    """The register rounds the shift of the National Grid, hence its 2 cm."""
    known = TransformerGroup(4326, epsg, always_xy=True).transformers
    registered = next(each for each in known if operation in each.description)

    assert grid.from_wgs84(*place) == pytest.approx(registered.transform(place[1], place[0]), abs=metres)


def test_utm_says_north_by_a_letter_and_south_by_the_word() -> None:
    assert to_utm_reference(43.6425667, -79.387139) == "17N 630084 4833438"
    assert to_utm_reference(-33.8688, 151.2093) == "56 south 334368 6250948"


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone"),
    [
        (0, -180, 1),
        (0, -174.01, 1),
        (0, -174, 2),
        (0, 180, 60),
        (55.99, 3, 31),
        (56, 2.99, 31),
        (56, 3, 32),
        (63.99, 11.99, 32),
        (60, 12, 33),
        (64, 3, 31),
        (71.99, 8.99, 32),
        (72, -0.01, 30),
        (72, 8.99, 31),
        (72, 9, 33),
        (78, 20.99, 33),
        (78, 21, 35),
        (78, 32.99, 35),
        (78, 33, 37),
        (84, 41.99, 37),
        (84, 42, 38),
    ],
)
def test_utm_zones_with_the_exceptions_of_norway_and_svalbard(latitude: float, longitude: float, zone: int) -> None:
    assert utm_zone(latitude, longitude) == zone


@pytest.mark.parametrize("latitude", [-80.01, 84.01])
def test_utm_ends_before_the_poles(latitude: float) -> None:
    with pytest.raises(ValueError, match="is outside UTM, which is used from 80°S to 84°N"):
        utm_zone(latitude, 0)


@pytest.mark.parametrize("latitude", [-1e-10, -4e-7, -9e-7, 0.0])
def test_a_hair_south_of_the_equator_is_on_it(latitude: float) -> None:
    assert to_mgrs(latitude, 3, precision_m=10) == "31N EA 0000 0000"
    assert to_utm_reference(latitude, 3) == "31N 500000 0"


def test_a_metre_south_of_the_equator_is_south() -> None:
    assert to_mgrs(-0.00001, 3, precision_m=1) == "31M EV 00000 99998"
    assert to_utm_reference(-0.00001, 3) == "31 south 500000 9999998"


@given(
    edge=st.sampled_from(range(-72, 80, 8)), short=st.floats(-2e-6, 2e-6), precision_m=st.sampled_from([1, 10, 1000])
)
def test_a_reference_at_the_edge_of_a_band_can_be_read_again(edge: int, short: float, precision_m: int) -> None:
    reference = parse_reference(to_mgrs(edge + short, 10.0, precision_m))

    assert reference.latitude == pytest.approx(edge + short, abs=0.02)


def _as_stored(reference: Reference) -> tuple[float, float]:
    return round(reference.latitude, 6), round(reference.longitude, 6)


DIGITS = st.integers(0, 9999)


@given(letters=st.sampled_from(["SV", "TG", "NN", "HP", "SU", "NT"]), east=DIGITS, north=DIGITS)
def test_a_national_reference_survives_being_stored_to_six_decimals(letters: str, east: int, north: int) -> None:
    typed = f"{letters} {east:04} {north:04}"

    assert to_national_grid(*_as_stored(parse_reference(typed)), precision_m=10) == typed


@given(letter=st.sampled_from("BCDFGHJLMNOQRSTVWX"), east=DIGITS, north=DIGITS)
def test_an_irish_reference_survives_being_stored_to_six_decimals(letter: str, east: int, north: int) -> None:
    typed = f"{letter} {east:04} {north:04}"

    assert to_irish_grid(*_as_stored(parse_reference(typed)), precision_m=10) == typed


@given(latitude=st.floats(-79.9, 83.9), longitude=st.floats(-179.99, 179.99))
def test_every_place_lies_in_the_square_that_its_mgrs_reference_names(latitude: float, longitude: float) -> None:
    reference = parse_reference(to_mgrs(latitude, longitude, precision_m=1))

    assert reference.latitude == pytest.approx(latitude, abs=2e-5)
    assert abs(reference.longitude - longitude) < 3e-4


@given(latitude=st.floats(-79.9, 83.9), longitude=st.floats(-179.99, 179.99))
def test_every_place_comes_back_from_its_utm_reference(latitude: float, longitude: float) -> None:
    reference = parse_reference(to_utm_reference(latitude, longitude))

    assert reference.latitude == pytest.approx(latitude, abs=2e-5)
    assert abs(reference.longitude - longitude) < 3e-4


@given(st.text(max_size=60))
def test_any_text_is_read_or_refused_never_more(typed: str) -> None:
    with suppress(ReferenceRefused):
        assert parse_reference(typed).as_typed == typed
