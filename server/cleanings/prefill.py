"""The form before anything is entered: what the worksheet of that stage and foulant would have been."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from analytics.decisions.cleaning_solution import PROGRAMMES, programme_for
from analytics.decisions.cleaning_worksheet import plan_worksheet
from analytics.plant import Plant
from server.cleanings.fields import STEP_BY_NAME
from server.cleanings.forms import CleaningForm, as_entered
from server.cleanings.sheet_steps import sheet_key
from server.templating import UNIT_SYSTEMS

USUAL_LENGTH = timedelta(hours=8)


def first_form(plant: Plant, train_id: int, asked: Mapping[str, str], units: str, now: datetime) -> CleaningForm:
    """The form with the chemicals and the volume of the worksheet; measured values stay empty until a sheet fills them.

    Parameters
    ----------
    asked : mapping
        The query as text: `stage`, `cause`, `started`, and `units` where a worksheet was filled in some.
    """
    units = asked["units"] if asked.get("units") in UNIT_SYSTEMS else units
    zone = ZoneInfo(plant.site.timezone)
    stages = plant.train.stages
    stage = asked.get("stage", "")
    stage = stage if stage in {str(n) for n in range(1, len(stages) + 1)} else ""
    started = _time(asked.get("started", ""), now.astimezone(zone) - USUAL_LENGTH)
    entered = {
        "stage": stage,
        "started": started.strftime("%Y-%m-%dT%H:%M"),
        "ended": (started + USUAL_LENGTH).strftime("%Y-%m-%dT%H:%M"),
    }
    cause = asked.get("cause", "")
    if cause not in PROGRAMMES:
        return CleaningForm(entered, units)
    programme = programme_for(cause)
    entered |= {"foulant": cause, "sheet_key": sheet_key(train_id, stage or 1, cause)}
    sheet = plan_worksheet(stages[int(stage or 1) - 1], int(stage or 1), plant.train.cleaning, programme)
    for n, bath in enumerate(sheet.baths, start=1):
        entered[f"bath{n}.chemical"] = bath.solution.name
        entered[f"bath{n}.volume_l"] = as_entered(1000 * sheet.volumes.make, STEP_BY_NAME["volume_l"], units)
    return CleaningForm(entered, units)


def _time(text: str, otherwise: datetime) -> datetime:
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return otherwise
