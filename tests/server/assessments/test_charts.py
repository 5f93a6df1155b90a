"""Charts are dictionaries that Plotly can draw, with every word where it can be read and nothing lost on the way."""

import base64
import itertools
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from analytics.events import Event
from server.assessments.chart_labels import Placed, grouped_marks, panel_labels, spread_out
from server.assessments.chart_parts import beyond, date_ticks, packed, ratio_ticks, thinned, value_range
from server.assessments.charts import changes_figure, small_figure
from server.assessments.graphs import figure_json, train_charts
from server.assessments.history import Curve, History, Limit, Mark, Panel, Reach, Timeline, history_from_series
from server.assessments.panels import main_panels, timeline
from tests.server.assessments.example import DAYS, FIRST, example_document

ZONE = ZoneInfo("Europe/Lisbon")
CLEANING = Event(datetime(2025, 7, 17, 9, tzinfo=UTC), "cleaning", 2, "Acid, then alkaline.")


def unpacked(array: dict[str, str]) -> np.ndarray:
    return np.frombuffer(base64.b64decode(array["bdata"]), dtype="<f4")


def texts(layout: dict[str, Any]) -> list[str]:
    return [annotation["text"] for annotation in layout["annotations"]]


@pytest.fixture
def figure() -> dict[str, Any]:
    document = example_document()
    history = history_from_series(document["series"])
    panels = main_panels(document, history, 2)
    return changes_figure(panels, timeline(document, history, [CLEANING], ZONE, panels))


def test_three_indicators_share_one_time_axis(figure: dict[str, Any]) -> None:
    layout = figure["layout"]
    assert [key for key in layout if key.startswith("yaxis")] == ["yaxis", "yaxis2", "yaxis3"]
    assert [key for key in layout if key.startswith("xaxis")] == ["xaxis"]
    domains = [layout[key]["domain"] for key in ("yaxis", "yaxis2", "yaxis3")]
    assert all(above[0] > below[1] for above, below in itertools.pairwise(domains))
    for title in ("<b>Permeate flow</b>", "<b>Salt passage</b>", "<b>Pressure drop</b>"):
        assert any(text.startswith(title) and "ratio to the reference [–]" in text for text in texts(layout))


@pytest.mark.parametrize(("value", "anchor"), [(1.15, "bottom"), (1.24, "top"), (0.9, "top")])
def test_the_words_of_a_limit_keep_clear_of_the_title_above_them(value: float, anchor: str) -> None:
    curve = Curve("train", "--permeate", np.ones(30), limit=Limit(value, "limit"))
    placed = Placed(Panel("Flow", (curve,)), "y", 0.85, 1.25, 0.0, 1.0, 142)
    labels = panel_labels(placed, Timeline(FIRST, FIRST), titles=True, narrow=True, left=50)
    assert [label["yanchor"] for label in labels if label["text"] == "limit"] == [anchor]


def test_every_line_is_labelled_where_it_is_and_there_is_no_legend(figure: dict[str, Any]) -> None:
    for layout in (figure["layout"], figure["narrow"]):
        assert layout["showlegend"] is False
        found = texts(layout)
        assert {"stage 1", "stage 2", "limit 0.90", "limit 1.15"} <= set(found)
        assert "1" in found  # the number of the event
    assert any("24\u00a0April to 20\u00a0June 2026" in text for text in texts(figure["layout"]))
    assert any("24\u00a0Apr\u00a02026" in text for text in texts(figure["narrow"]))
    assert "Cleaning, stage 2" in texts(figure["layout"])
    assert "Cleaning, stage 2" not in texts(figure["narrow"])


def test_days_are_drawn_as_they_are(figure: dict[str, Any]) -> None:
    document = example_document()
    dots = next(trace for trace in figure["data"] if trace["mode"] == "markers")
    expected = np.array(document["series"]["train"]["permeate_flow"], dtype=float)
    assert dots["x0"] == FIRST.isoformat() and dots["dx"] == 86_400_000
    np.testing.assert_allclose(unpacked(dots["y"]), expected, rtol=1e-6)


def test_days_are_drawn_by_themselves_where_the_daily_value_is_a_level() -> None:
    series = {"day": ["2026-01-01", "2026-01-02"], "train": {"permeate_flow": [0.98, 0.97]}}
    assert history_from_series(series).columns["train_permeate_flow"].tolist() == [0.98, 0.97]
    alone = series | {"unsmoothed": {"train_permeate_flow": [0.99, None]}}
    drawn = history_from_series(alone).columns["train_permeate_flow"]
    assert drawn[0] == 0.99 and np.isnan(drawn[1])


def test_colours_are_tokens_of_the_style_sheet(figure: dict[str, Any]) -> None:
    def colours(node: Any) -> list[str]:
        if isinstance(node, dict):
            own = [v for k, v in node.items() if k in ("color", "fillcolor", "gridcolor", "linecolor") and v]
            return own + [c for v in node.values() for c in colours(v)]
        return [c for v in node for c in colours(v)] if isinstance(node, list) else []

    found = colours(figure)
    assert found and all(colour.startswith("--") for colour in found)


def test_the_reach_of_a_limit_is_a_bar_on_the_limit(figure: dict[str, Any]) -> None:
    bar = next(trace for trace in figure["data"] if trace.get("line", {}).get("width") == 7)
    assert bar["x"] == ["2026-04-24", "2026-06-20"] and bar["y"] == [0.9, 0.9]


def test_a_limit_reached_after_the_end_of_the_axis_is_not_drawn() -> None:
    far = Reach(date(2031, 1, 1), date(2032, 1, 1), None, "from 2031", "2031")
    curve = Curve("train", "--permeate", np.full(30, 0.97), limit=Limit(0.9, "limit 0.90", far))
    drawn = small_figure(Panel("Flow", (curve,)), Timeline(FIRST, FIRST + timedelta(days=29)))
    assert "from 2031" not in str(drawn) and "limit 0.90" in str(drawn)


def test_days_set_aside_are_crosses_and_are_not_among_the_dots() -> None:
    document = example_document()
    document["series"]["set_aside"] = {"train_permeate_flow": [[10, 0.7], [11, 0.71]]}
    document["series"]["train"]["permeate_flow"][10:12] = [None, None]
    history = history_from_series(document["series"])
    charts = train_charts(document, history, [], ZONE, 2)
    assert charts.changes is not None
    drawn = changes_figure(main_panels(document, history, 2), Timeline(FIRST, FIRST + timedelta(days=DAYS)))
    crosses = [t for t in drawn["data"] if t.get("marker", {}).get("symbol") == "x-thin"]
    assert len(crosses) == 1
    values = unpacked(crosses[0]["y"])
    assert np.flatnonzero(np.isfinite(values)).tolist() == [10, 11]


def test_a_long_history_is_thinned_to_its_extremes_and_keeps_its_gaps() -> None:
    rng = np.random.default_rng(7)
    values = rng.normal(1, 0.01, 3_653)
    values[1_000:1_200] = np.nan
    values[2_222] = 1.4
    kept, step = thinned(values)
    assert kept.size <= 2_002 and step == 2.0
    assert np.nanmax(kept) == 1.4 and np.nanmin(kept) == np.nanmin(values)
    assert np.isnan(kept[int(1_010 / step) : int(1_190 / step)]).all()
    assert abs(int(np.nanargmax(kept)) * step - 2_222) <= 4
    same, one = thinned(values[:500])
    assert one == 1.0 and same.size == 500


def test_typed_arrays_hold_four_bytes_a_value() -> None:
    assert packed(np.array([1.0, np.nan])) == {
        "dtype": "f4",
        "bdata": base64.b64encode(b"\0\0\x80?\0\0\xc0\x7f").decode(),
    }


def test_the_scale_holds_nearly_all_days_and_counts_the_rest() -> None:
    days = np.full(400, 1.0)
    days[5] = 3.0
    curve = Curve("train", "--permeate", days, limit=Limit(1.15, "limit 1.15"))
    low, high = value_range([curve])
    assert low < 1.0 and 1.15 < high < 1.3
    assert beyond([curve], low, high) == 1
    assert "1\u00a0day off the scale" in texts(small_figure(Panel("x", (curve,)), Timeline(FIRST, FIRST))["layout"])


def test_ticks_are_round_and_few() -> None:
    assert ratio_ticks(0.87, 1.03)["ticktext"] == ["0.90", "0.95", "1.00"]
    months = date_ticks(date(2025, 1, 6), date(2026, 7, 20), 9)
    assert months["ticktext"][0] == "Mar<br>2025" and "Jan<br>2026" in months["ticktext"]
    assert len(months["tickvals"]) <= 10
    assert date_ticks(date(2016, 1, 1), date(2026, 1, 1), 5)["ticktext"] == [
        "2016",
        "2018",
        "2020",
        "2022",
        "2024",
        "2026",
    ]
    assert date_ticks(date(2026, 1, 1), date(2026, 1, 20), 4)["ticktext"] == ["1 Jan", "8 Jan", "15 Jan"]


def test_labels_are_moved_apart_and_stay_in_their_panel() -> None:
    moved = spread_out([10, 100, 101, 102], 15, 168)
    assert moved[0] == 10
    assert all(after - before >= 15 - 1e-6 for before, after in itertools.pairwise(moved))


def test_events_that_would_touch_share_a_mark() -> None:
    marks = [Mark(1, FIRST, "a"), Mark(2, FIRST + timedelta(days=3), "b"), Mark(3, FIRST + timedelta(days=90), "c")]
    assert [[m.number for m in group] for group in grouped_marks(marks, FIRST, 1.0)] == [[1, 2], [3]]


def test_nothing_in_a_figure_can_end_its_script_element() -> None:
    text = figure_json({"text": "</script><b>&"})
    assert "<" not in text and ">" not in text and "&" not in text


def test_a_train_without_days_has_no_charts() -> None:
    document = example_document() | {"trends": [], "indicators": []}
    charts = train_charts(document, history_from_series({"day": []}), [], ZONE, 2)
    assert charts.changes is None and charts.stages == ()


def test_the_history_is_an_even_grid_of_days() -> None:
    history = history_from_series({"day": ["2026-01-05", "2026-01-08"], "train": {"salt_passage": [1.0, 1.1]}})
    assert (history.first, history.days) == (date(2026, 1, 5), 4)
    values = history.of("train_salt_passage")
    assert values is not None
    np.testing.assert_array_equal(values, [1.0, np.nan, np.nan, 1.1])
    assert isinstance(history, History) and history.of("stage1_salt_passage") is None


def test_without_temperature_no_limit_and_no_forecast_is_drawn() -> None:
    """A season would be taken for a trend, and its turn for a recovery."""
    document = example_document()
    nothing = {"temperature_corrected": False, "change_per_30_days": None, "change_low": None, "change_high": None}
    for entry in document["indicators"]:
        entry |= nothing
    history = history_from_series(document["series"])
    flow, salt, drop = main_panels(document, history, 2)
    assert flow.title == "Permeate flow, not corrected for temperature" and drop.title == "Pressure drop"
    assert all(curve.forecast is None for panel in (flow, salt, drop) for curve in panel.curves)
    assert flow.curves[0].limit is None and drop.curves[0].limit is not None


def test_the_standard_method_stands_beside_another_as_a_thin_line() -> None:
    document = example_document()
    for entry in document["indicators"]:
        entry["method"] = "membrane model"
    document["standard"] = {"indicators": [], "trends": [dict(t) for t in document["trends"]]}
    history = history_from_series(document["series"])
    panels = main_panels(document, history, 2)
    assert [len(panel.curves[0].other) for panel in panels] == [3, 3, 0]
    drawn = changes_figure(panels, Timeline(FIRST, FIRST + timedelta(days=DAYS)))
    thin = [t for t in drawn["data"] if t.get("line", {}).get("width") == 1.2]
    assert len(thin) == 2 and {t["line"]["color"] for t in thin} == {"--quiet"}
