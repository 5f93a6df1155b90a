"""The stories of the demo fleet, one file each. Sites, places and people are invented."""

from demo_data.stories.brewery import BREWERY
from demo_data.stories.dairy import DAIRY
from demo_data.stories.glasshouses import GLASSHOUSES
from demo_data.stories.glassworks import GLASSWORKS
from demo_data.stories.hospital import HOSPITAL
from demo_data.stories.island import ISLAND

FLEET = (BREWERY, GLASSHOUSES, ISLAND, HOSPITAL, DAIRY, GLASSWORKS)
