"""How far a feed can be concentrated."""

import numpy as np
import pytest

from analytics.decisions.feed_analysis import Analysis
from analytics.decisions.scaling_limits import LANGELIER, Limit, concentrate_of, highest_recoveries

IONS = {
    "calcium": 100.0, "magnesium": 30.0, "sodium": 246.0, "potassium": 10.0, "chloride": 360.0, "sulfate": 200.0,
    "barium": 0.05, "strontium": 1.5, "silica": 20.0, "bicarbonate": 250.0,
}  # fmt: skip
FEED = Analysis(IONS, 7.6, 25.0)


def test_the_concentrate_at_75_percent() -> None:
    """PHREEQC, phreeqc.dat, four times the feed with carbon dioxide held: pH 8.110; percent of saturation."""
    found = concentrate_of(FEED, salt_passage=0.0)
    assert np.interp(0.75, found.recoveries, found.ph) == pytest.approx(8.110, abs=0.01)
    assert found.at(0.75, "gypsum") == pytest.approx(27.7, rel=0.05)
    assert found.at(0.75, "barite") == pytest.approx(594, rel=0.05)
    assert found.at(0.75, "celestite") == pytest.approx(22.8, rel=0.05)
    assert found.at(0.75, "amorphous silica") == pytest.approx(68.6, rel=0.05)


def test_silica_allows_what_the_concentration_factor_says() -> None:
    """20 mg/L reach 80 % of about 117 mg/L at a factor of 4.6 to 4.7: 78.5 % recovery, by hand."""
    found = highest_recoveries(concentrate_of(FEED, salt_passage=0.0), {"amorphous silica": Limit(80.0, 100.0)})
    assert found[0].without_antiscalant == pytest.approx(0.785, abs=0.01)
    assert found[0].with_antiscalant is not None and found[0].with_antiscalant > 0.785


def test_salt_that_passes_does_not_concentrate() -> None:
    tight, open_ = (concentrate_of(FEED, salt_passage=passage) for passage in (0.0, 0.2))
    assert open_.at(0.75, "gypsum") < tight.at(0.75, "gypsum")
    assert open_.tds_mg_l[150] == pytest.approx(FEED.tds_mg_l * (1 - 0.75 * 0.2) / 0.25)


def test_what_was_not_measured_is_not_known() -> None:
    analysis = Analysis({"calcium": 100.0, "sulfate": 200.0, "sodium": 20.0}, 7.6, 25.0)
    by_name = {one.name: one for one in highest_recoveries(concentrate_of(analysis))}
    assert by_name["barite"].with_antiscalant is None
    assert by_name[LANGELIER].with_antiscalant is None
    assert by_name["gypsum"].with_antiscalant is not None


def test_a_feed_past_its_limit_allows_none() -> None:
    found = highest_recoveries(concentrate_of(FEED), {LANGELIER: Limit(0.0, 1.8)})
    assert found[0].without_antiscalant == 0.0
    assert found[0].with_antiscalant == pytest.approx(0.71, abs=0.02)


def test_colder_water_holds_less_silica() -> None:
    cold = concentrate_of(Analysis(IONS, 7.6, 8.0))
    assert cold.at(0.75, "amorphous silica") > concentrate_of(FEED).at(0.75, "amorphous silica")
