"""What people type on the pages about people, and what is wrong with it."""

from dataclasses import dataclass, field

from starlette.requests import Request

from server.accounts.actions import email_problem
from server.accounts.passwords import password_problem

LONGEST_NAME = 200


@dataclass(frozen=True)
class FirstForm:
    """The first administrator: address, name and password."""

    email: str
    name: str
    password: str

    @property
    def errors(self) -> dict[str, str]:
        """What is wrong, by field."""
        found = {
            "email": email_problem(self.email),
            "password": password_problem(self.password, email=self.email, name=self.name),
        }
        return {name: text for name, text in found.items() if text}


@dataclass(frozen=True)
class InviteForm:
    """Somebody to invite, perhaps with a role at a site."""

    email: str
    name: str
    site: str = ""
    role: str = ""
    errors: dict[str, str] = field(default_factory=dict)

    @property
    def values(self) -> dict[str, str]:
        return {"email": self.email, "name": self.name, "site": self.site, "role": self.role}

    def checked(self) -> "InviteForm":
        """The same with what is wrong in it."""
        found = {"email": email_problem(self.email)}
        if not self.name.strip() or len(self.name) > LONGEST_NAME or not self.name.isprintable():
            found["name"] = "Write the name as others know it."
        errors = {name: text for name, text in found.items() if text}
        return InviteForm(self.email, self.name, self.site, self.role, errors)

    @property
    def roles(self) -> dict[int, str]:
        return {int(self.site): self.role} if self.site.isascii() and self.site.isdigit() and self.role else {}


@dataclass(frozen=True)
class PersonForm:
    """What an administrator changes of a person; the roles by site."""

    name: str
    administrator: bool
    disabled: bool
    roles: dict[int, str]


async def person_form(request: Request) -> PersonForm:
    """Read the form of a person, which has one field for each site."""
    sent = await request.form()
    words = {name: value for name, value in sent.items() if isinstance(value, str)}
    roles = {
        int(name.removeprefix("role_")): value
        for name, value in words.items()
        if name.startswith("role_") and name.removeprefix("role_").isascii() and name.removeprefix("role_").isdigit()
    }
    name = "".join(sign for sign in words.get("name", "") if sign.isprintable())
    return PersonForm(name, "administrator" in words, "disabled" in words, roles)
