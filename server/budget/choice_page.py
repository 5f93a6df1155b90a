"""Pages to change what the budget rests on, and what was spent."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from zoneinfo import ZoneInfo

from server.budget.forms import SPENDING_KINDS, ChoiceField, ChoiceForm, SpendingForm
from server.budget.models import KeptPlan, Spending
from server.budget.plan import total
from server.budget.queries import SiteFacts
from server.budget.view import Seen, View
from server.budget.words import history, money
from server.display import MINUS, THIN, moment, short_day
from server.templating import Frame

TITLES = {
    "logbook": ("How the budget is added up", "Reporting currency and horizon, for everybody who sees budgets here."),
    "site": ("Prices of this site", "In its own currency. An empty field means the default."),
    "train": ("Contract and elements",
              "What the train must deliver and its elements bear: this decides when they are due."),
}  # fmt: skip


@dataclass(frozen=True)
class ChoicePage:
    """Choices of one scope; `action` is where the form goes."""

    frame: Frame
    place: str
    back: str
    title: str
    lead: str
    action: str
    currency: str
    fields: tuple[ChoiceField, ...]
    wrong: int


def choice_page(
    frame: Frame, form: ChoiceForm, *, place: str, back: str, action: str, currency: str = ""
) -> ChoicePage:
    """Put the form of a scope together."""
    title, lead = TITLES[form.scope]
    return ChoicePage(frame, place, back, title, lead, action, currency, form.fields(), len(form.errors))


def horizon_hint(sites: Sequence[SiteFacts]) -> dict[str, str]:
    """How far the logs carry, to stand beside the years ahead."""
    logs = [train.life.history_years for site in sites for train in site.trains if train.life]
    if not logs:
        return {}
    span = (
        history(min(logs))
        if round(12 * min(logs)) == round(12 * max(logs))
        else (f"{history(min(logs))} to {history(max(logs))}")
    )
    return {
        "horizon_years": f"The logs span {span}; what lies further ahead than that rests more and more on the "
        "trade's experience, and its range grows."
    }


@dataclass(frozen=True)
class SpendingLine:
    id: int
    day: str
    kind: str
    elements: str
    amount: str
    note: str
    author: str


@dataclass(frozen=True)
class AgainstRow:
    """One year: as planned, as spent, and the difference."""

    year: str
    planned: str
    spent: str
    difference: str


@dataclass(frozen=True)
class Against:
    """Plan against actual of one train."""

    plan: str
    rows: tuple[AgainstRow, ...]
    spendings: tuple[SpendingLine, ...]
    form: SpendingForm
    kinds: tuple[tuple[str, str], ...]


def against(seen: Seen, form: SpendingForm) -> Against:
    """Set what was spent beside the plan that was kept last."""
    facts = seen.train.facts
    zone = ZoneInfo(facts.train.site.timezone)
    kept, paid = facts.kept, [one for one in facts.spendings if one.kind == "replacement"]
    plan = (
        "No plan was kept yet." if kept is None else f"Plan kept by {kept.author} on {moment(kept.created_at, zone)}."
    )
    return Against(
        plan=plan,
        rows=tuple(_row(year, kept, paid) for year in _years(kept, paid)),
        spendings=tuple(_spending(one) for one in facts.spendings),
        form=form,
        kinds=tuple(SPENDING_KINDS.items()),
    )


def plan_years(seen: Seen, view: View) -> dict[str, str]:
    """The expected cost by year of one train in its site's currency, to be kept."""
    return {str(year): str(total([seen.train.cells], view.periods, year=year)) for year in view.periods.years}


def _years(kept: KeptPlan | None, paid: Sequence[Spending]) -> list[int]:
    return sorted({*(int(year) for year in (kept.years if kept else {})), *(one.day.year for one in paid)})


def _row(year: int, kept: KeptPlan | None, paid: Sequence[Spending]) -> AgainstRow:
    planned = Decimal(kept.years[str(year)]) if kept and str(year) in kept.years else None
    cents = [one.amount_cents for one in paid if one.day.year == year]
    spent = Decimal(sum(cents)) / 100
    difference = "" if planned is None else _signed(spent - planned)
    return AgainstRow(str(year), "not planned" if planned is None else money(planned), exact(spent), difference)


def _signed(amount: Decimal) -> str:
    return f"{'+' if amount > 0 else MINUS if amount < 0 else ''}{exact(abs(amount))}"


def exact(amount: Decimal) -> str:
    """Money with its cents, where it was paid."""
    return f"{amount:,.2f}".replace(",", THIN)


def _spending(one: Spending) -> SpendingLine:
    return SpendingLine(
        one.id, short_day(one.day), SPENDING_KINDS.get(one.kind, one.kind), str(one.elements),
        exact(Decimal(one.amount_cents) / 100), one.note, one.author,
    )  # fmt: skip
