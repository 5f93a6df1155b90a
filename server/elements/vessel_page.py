"""The page of single vessels as typed values: rounds, and who stands out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from analytics.decisions.element_map import Layout
from analytics.judgement.vessels import LEAST_VESSELS, StageProfile, judge_vessels, leak_fraction
from server.display import THIN, moment, number, signed
from server.elements.models import VesselRound
from server.elements.probe_page import HIGHEST_US_CM, Probe, probe_of
from server.plants.models import Train
from server.templating import Frame
from server.typed_numbers import number_problem, typed_number


@dataclass(frozen=True)
class RoundForm:
    """Conductivities as entered, by `v_<stage>_<vessel>`, the time and a remark."""

    fields: Mapping[str, str]
    errors: Mapping[str, str] = field(default_factory=dict)

    def text(self, name: str) -> str:
        return self.fields.get(name, "")

    def checked(self, layout: Layout, zone: ZoneInfo, now: datetime) -> "RoundForm":
        errors = {}
        when = self.time(zone)
        if when is None or when > now + timedelta(days=1):
            errors["when"] = "Enter when it was measured, such as 2026-03-01 14:30, not in the future."
        values = self.values(layout)
        for name, value in values.items():
            if not 0 < value <= HIGHEST_US_CM:
                errors[name] = number_problem(self.text(name)) or "A number above zero, in µS/cm."
        if not values:
            errors["when"] = errors.get("when", "Enter at least one vessel.")
        if len(self.text("remark")) > 1_000:
            errors["remark"] = "At most 1000 characters, please."
        return RoundForm(self.fields, errors)

    def values(self, layout: Layout) -> dict[str, float]:
        """What was entered, by the name of its field; what is no number is 0."""
        found = {}
        for name in field_names(layout):
            text = self.text(name).strip()
            if text:
                found[name] = 0.0 if number_problem(text) else float(typed_number(text))
        return found

    def time(self, zone: ZoneInfo) -> datetime | None:
        try:
            entered = datetime.fromisoformat(self.text("when").strip())
            return (entered if entered.tzinfo else entered.replace(tzinfo=zone)).astimezone(UTC)
        except (ValueError, OverflowError):
            return None

    def round(self, train_id: int, layout: Layout, zone: ZoneInfo) -> VesselRound:
        """The round that was entered; only for a form without errors."""
        when = self.time(zone)
        assert when is not None
        kept: dict[str, dict[str, float]] = {}
        for name, value in self.values(layout).items():
            _, stage, vessel = name.split("_")
            kept.setdefault(stage, {})[vessel] = value
        return VesselRound(
            train_id=train_id, measured_at=when, conductivities=kept, remark=self.text("remark").strip(), author=""
        )


def field_names(layout: Layout) -> list[str]:
    """Fields of a round, in the order of the walk."""
    stages = enumerate(layout.stages, start=1)
    return [f"v_{stage}_{vessel}" for stage, (vessels, _) in stages for vessel in range(1, vessels + 1)]


@dataclass(frozen=True)
class VesselLine:
    label: str
    value: str
    excess: str
    share: float
    stands_out: bool


@dataclass(frozen=True)
class StageLines:
    """One stage of the newest round; `lines` are empty where nothing was measured."""

    number: int
    median: str
    said: str
    next_check: str
    leak: str
    lines: tuple[VesselLine, ...]


@dataclass(frozen=True)
class RoundLine:
    round_id: int
    when: str
    said: str
    author: str
    withdrawn: str


@dataclass(frozen=True)
class VesselsPage:
    frame: Frame
    site: str
    train: str
    train_id: int
    timezone: str
    headline: str
    stages: tuple[StageLines, ...]
    form: RoundForm
    groups: tuple[tuple[int, tuple[tuple[str, str], ...]], ...]
    rounds: tuple[RoundLine, ...]
    probe: Probe


def vessels_page(
    frame: Frame, train: Train, layout: Layout, rounds: Sequence[VesselRound], form: RoundForm,
    query: Mapping[str, str], *, feed_us_cm: float | None,
) -> VesselsPage:  # fmt: skip
    """Put the page together; `feed_us_cm` is the conductivity of the feed of late."""
    zone = ZoneInfo(train.site.timezone)
    newest = next((one for one in rounds if one.voided_at is None), None)
    profiles = {} if newest is None else _profiles(newest)
    return VesselsPage(
        frame=frame,
        site=train.site.name,
        train=train.name,
        train_id=train.id,
        timezone=train.site.timezone,
        headline=_headline(newest, profiles),
        stages=tuple(
            _too_few(stage, newest) if profile is None else _lines(stage, profile, feed_us_cm)
            for stage, profile in profiles.items()
            if newest is not None
        ),
        form=form,
        groups=tuple(
            (stage, tuple((f"v_{stage}_{v}", f"Vessel {v}") for v in range(1, vessels + 1)))
            for stage, (vessels, _) in enumerate(layout.stages, start=1)
        ),
        rounds=tuple(_round(one, zone) for one in rounds),
        probe=probe_of(query, layout),
    )


def _profiles(found: VesselRound) -> dict[int, StageProfile | None]:
    return {
        int(stage): judge_vessels({int(vessel): value for vessel, value in vessels.items()})
        for stage, vessels in sorted(found.conductivities.items(), key=lambda item: int(item[0]))
    }


def _headline(newest: VesselRound | None, profiles: Mapping[int, StageProfile | None]) -> str:
    if newest is None:
        return "Measure the permeate of each vessel, and this page says which stands out."
    known = {stage: profile for stage, profile in profiles.items() if profile is not None}
    if not known:
        return "At least three vessels of a stage are needed to say which stands out."
    out = [
        f"stage {stage}, vessel {one.vessel}"
        for stage, profile in known.items()
        for one in profile.vessels
        if one.stands_out
    ]
    return f"Out of its stage: {'; '.join(out)}." if out else "No vessel stands out of its stage."


def _lines(stage: int, profile: StageProfile, feed_us_cm: float | None) -> StageLines:
    highest = max(one.conductivity_us_cm for one in profile.vessels)
    worst = max(profile.vessels, key=lambda one: one.conductivity_us_cm)
    leak = ""
    if worst.stands_out and feed_us_cm is not None and feed_us_cm > profile.median_us_cm:
        share = leak_fraction(worst.conductivity_us_cm, profile.median_us_cm, feed_us_cm)
        leak = (
            f"If feed of {number(feed_us_cm)} µS/cm leaks into vessel {worst.vessel},"
            f" it is {number(100 * share, 2)}{THIN}% of its permeate; small leaks matter."
        )
    return StageLines(
        stage,
        f"{number(profile.median_us_cm, 1)}{THIN}µS/cm, half of the vessels within"
        f" {number(profile.spread_us_cm, 1)} of it",
        profile.said,
        profile.next_check,
        leak,
        tuple(
            VesselLine(
                f"Vessel {one.vessel}",
                number(one.conductivity_us_cm, 1),
                f"{signed(100 * one.excess)}{THIN}%",
                round(100 * one.conductivity_us_cm / highest, 1),
                one.stands_out,
            )
            for one in profile.vessels
        ),
    )


def _too_few(stage: int, newest: VesselRound) -> StageLines:
    """A stage of which fewer than three vessels were measured: what they read, and why that says no more."""
    read = {int(vessel): value for vessel, value in newest.conductivities[str(stage)].items()}
    highest = max(read.values())
    lines = (
        VesselLine(f"Vessel {vessel}", number(value, 1), "", round(100 * value / highest, 1), stands_out=False)
        for vessel, value in sorted(read.items())
    )
    said = f"Fewer than {LEAST_VESSELS} vessels do not tell which of them is out: compare them with earlier rounds."
    return StageLines(stage, "", said, "", "", tuple(lines))


def _round(found: VesselRound, zone: ZoneInfo) -> RoundLine:
    stages = sorted(found.conductivities.items(), key=lambda item: int(item[0]))
    said = "; ".join(f"stage {stage}: {_in_order(vessels)}" for stage, vessels in stages)
    withdrawn = found.void_reason if found.voided_at is not None else ""
    return RoundLine(
        found.id,
        moment(found.measured_at, zone),
        said + (f". {found.remark}" if found.remark else ""),
        found.author,
        withdrawn,
    )


def _in_order(vessels: Mapping[str, float]) -> str:
    return ", ".join(f"{value:g}" for _, value in sorted(vessels.items(), key=lambda item: int(item[0])))


def blank_round(zone: ZoneInfo, now: datetime) -> RoundForm:
    """The form before anything is entered: now, by the clock of the site."""
    return RoundForm({"when": now.astimezone(zone).strftime("%Y-%m-%dT%H:%M")})
