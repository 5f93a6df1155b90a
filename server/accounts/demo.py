"""Three invented people of the demo, each of whom may be signed in as by one click on the same machine."""

from dataclasses import dataclass

from sqlalchemy.orm import Session

from server.accounts.actions import add_user, set_roles
from server.accounts.queries import list_sites


@dataclass(frozen=True)
class DemoUser:
    role: str
    name: str
    email: str


DEMO_USERS = (
    DemoUser("operator", "Mirel Ostrava-Kint", "operator@demo.invalid"),
    DemoUser("engineer", "Sunniva Adeyemo-Rask", "engineer@demo.invalid"),
    DemoUser("manager", "Tobin Halvaro", "manager@demo.invalid"),
)


def add_demo_people(session: Session) -> None:
    """Add the three, each with one role at every site. They have no password."""
    sites = [site.id for site in list_sites(session)]
    for known in DEMO_USERS:
        user = add_user(session, known.email, name=known.name)
        set_roles(session, user, dict.fromkeys(sites, known.role))
