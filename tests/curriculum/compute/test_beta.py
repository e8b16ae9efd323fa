"""The beta distribution, where its values are known in closed form."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curriculum.compute.beta import beta_cdf, beta_quantile
from curriculum.compute.circular import bessel_ratio, concentration, mean_direction, resultant_length, von_mises

shapes = st.floats(0.02, 60)
inside = st.floats(0.001, 0.999)


@settings(max_examples=60, deadline=None)
@given(x=inside, n=st.integers(1, 40))
def test_powers_and_their_mirror_images_come_out(x, n):
    assert beta_cdf(x, n, 1) == pytest.approx(x**n, rel=1e-11, abs=1e-300)
    assert beta_cdf(x, 1, n) == pytest.approx(1 - (1 - x) ** n, rel=1e-11)


@settings(max_examples=60, deadline=None)
@given(x=inside)
def test_the_arcsine_distribution_comes_out(x):
    assert beta_cdf(x, 0.5, 0.5) == pytest.approx(2 / math.pi * math.asin(math.sqrt(x)), rel=1e-11)


@settings(max_examples=60, deadline=None)
@given(x=inside, n=st.integers(1, 30), k=st.integers(0, 29))
def test_it_is_the_tail_of_a_binomial_distribution(x, n, k):
    k = min(k, n - 1)
    tail = math.fsum(math.comb(n, j) * x**j * (1 - x) ** (n - j) for j in range(k + 1, n + 1))

    assert beta_cdf(x, k + 1, n - k) == pytest.approx(tail, rel=1e-9, abs=1e-14)


@settings(max_examples=60, deadline=None)
@given(x=inside, a=shapes, b=shapes)
def test_the_two_tails_add_up(x, a, b):
    assert beta_cdf(x, a, b) + beta_cdf(1 - x, b, a) == pytest.approx(1, abs=1e-11)


@settings(max_examples=60, deadline=None)
@given(probability=st.floats(0.01, 0.99), a=shapes, b=shapes)
def test_a_quantile_has_its_probability_below_it(probability, a, b):
    x = beta_quantile(probability, a, b)

    assert beta_cdf(x - 1e-9, a, b) <= probability + 1e-9
    assert beta_cdf(x + 1e-9, a, b) >= probability - 1e-9


@pytest.mark.parametrize("x", [-1, 0])
def test_nothing_lies_below_zero_and_all_below_one(x):
    assert beta_cdf(x, 2, 3) == 0
    assert beta_cdf(1 - x, 2, 3) == 1


@settings(max_examples=60, deadline=None)
@given(kappa=st.floats(0, 500))
def test_a_concentration_comes_back_from_its_resultant_length(kappa):
    assert concentration(bessel_ratio(kappa)) == pytest.approx(kappa, rel=1e-8, abs=1e-8)


@pytest.mark.parametrize("kappa", [0, 0.3, 5, 29.9, 30.1, 200])
def test_the_density_of_von_mises_adds_up_and_has_its_resultant_length(kappa):
    angles = [math.tau * step / 4000 for step in range(4000)]
    density = [von_mises(one, 1.0, kappa) for one in angles]

    assert math.fsum(density) * math.tau / 4000 == pytest.approx(1, abs=1e-10)
    assert resultant_length(angles, density) == pytest.approx(bessel_ratio(kappa), abs=1e-10)


def test_directions_that_cancel_out_have_no_mean():
    with pytest.raises(ValueError, match=r"^Directions that cancel out have no mean\.$"):
        mean_direction([0, math.pi], [1, 1])


@pytest.mark.parametrize("resultant", [-0.1, 1])
def test_a_resultant_length_without_a_concentration_is_refused(resultant):
    with pytest.raises(ValueError, match="from 0 up to, but below, 1"):
        concentration(resultant)
