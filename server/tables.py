"""All tables in one place: importing this module makes `metadata` whole."""

import server.accounts.models
import server.api.models
import server.assessments.models
import server.audit.models
import server.budget.models
import server.cleanings.models
import server.elements.models
import server.events.models
import server.feedwater.models
import server.intake.models
import server.plants.models
import server.readings.models
import server.shift.models  # noqa: F401
from server.db import Base

metadata = Base.metadata
