"""Who may do what: three roles at a site, an administrator over all, and the rights that they come to."""

from dataclasses import dataclass
from enum import StrEnum


class Right(StrEnum):
    """What a route may need. The first two are about nobody's site, the next ones about the site in the address."""

    PUBLIC = "public"
    SIGNED_IN = "signed in"
    SEE = "see"
    ENTER = "enter"
    MANAGE = "manage"
    BUDGET = "budget"
    FLEET_BUDGET = "fleet budget"
    ADD_PLANT = "add plant"
    ADMINISTER = "administer"
    TOKEN_READ = "token: read"
    TOKEN_WRITE = "token: write readings"


SITE_RIGHTS = frozenset({Right.SEE, Right.ENTER, Right.MANAGE, Right.BUDGET})
ROLES: dict[str, frozenset[Right]] = {
    "operator": frozenset({Right.SEE, Right.ENTER}),
    "engineer": SITE_RIGHTS,
    "manager": frozenset({Right.SEE, Right.BUDGET}),
}
ROLE_WORDS = {
    "operator": "sees the site and enters readings and events",
    "engineer": "does everything at the site: plants, limits, tokens",
    "manager": "sees the site, its budget and its reports",
}


@dataclass(frozen=True)
class Person:
    """Somebody who is signed in, with the role at each site."""

    id: int
    session_id: int
    name: str
    email: str
    administrator: bool
    roles: dict[int, str]

    def may(self, right: Right, site_id: int) -> bool:
        """Whether this person has a right at a site."""
        return self.administrator or right in ROLES.get(self.roles.get(site_id, ""), frozenset())

    def knows(self, site_id: int) -> bool:
        """Whether this person may learn that a site is there."""
        return self.administrator or site_id in self.roles

    @property
    def may_add_plants(self) -> bool:
        """Administrators add sites, engineers trains to their own."""
        return self.administrator or "engineer" in self.roles.values()

    @property
    def budget_sites(self) -> frozenset[int] | None:
        """Sites whose budget this person may see; None means all."""
        return None if self.administrator else frozenset(i for i in self.roles if self.may(Right.BUDGET, i))

    @property
    def may_see_budgets(self) -> bool:
        """Whether there is any site whose budget this person may see."""
        return self.administrator or bool(self.budget_sites)

    @property
    def sites(self) -> frozenset[int] | None:
        """Sites that lists may show; None means all."""
        return None if self.administrator else frozenset(self.roles)
