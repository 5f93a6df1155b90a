"""Pages: one Jinja environment, the frame around every page, and the headers that go with it.

A route builds one typed page and calls `render`; a template only shows what the page holds.
"""

import dataclasses
import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any, Protocol
from urllib.parse import urlsplit

import jinja2
from fastapi import Request, Response
from fastapi.responses import HTMLResponse, JSONResponse

from server.accounts.roles import SITE_RIGHTS, Person, Right
from server.plotly_js import plotly_path
from server.security.cookies import secret_of
from server.security.form_token import FIELD, form_token
from server.security.headers import ALWAYS, NOT_KEPT, POLICY_WITH_CHARTS
from server.typesetting import held_together

UNITS_COOKIE = "skidbook_units"
UNIT_SYSTEMS = ("SI", "US")
STATIC = Path(__file__).parent / "static"


@dataclass(frozen=True)
class TrainTabs:
    """The pages of one train, and which of them is open."""

    train_id: int
    site: str
    train: str
    open: str


@dataclass(frozen=True)
class Frame:
    """What stands around a page: its title, the reader's units, and the train that it belongs to, if any.

    `rights` are those of the person where the page is, `form_token` goes into every form.
    """

    title: str
    units: str
    path: str
    tabs: TrainTabs | None = None
    person: str = ""
    rights: frozenset[str] = frozenset()
    form_token: str = ""


class Page(Protocol):
    """Any typed page: it has a frame, and fields of its own that its template names."""

    @property
    def frame(self) -> Frame: ...


@cache
def static_url(name: str) -> str:
    """Address of a static file that changes when the file does."""
    digest = hashlib.sha256((STATIC / name).read_bytes()).hexdigest()[:12]
    return f"/static/{name}?v={digest}"


def make_environment() -> jinja2.Environment:
    """Build the environment: everything is escaped, and a name that the page does not have is an error."""
    environment = jinja2.Environment(
        loader=jinja2.FileSystemLoader(Path(__file__).parent / "templates"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["static_url"] = static_url
    environment.globals["plotly_url"] = plotly_path
    environment.globals["form_field"] = FIELD
    return environment


ENVIRONMENT = make_environment()


def render(template: str, page: Page, *, status: int = 200, charts: bool = False) -> Response:
    """Fill a template with its page; `charts` says that it draws some."""
    text = ENVIRONMENT.get_template(template).render(page=page, frame=page.frame)
    headers = ALWAYS | NOT_KEPT
    if charts:
        headers["Content-Security-Policy"] = POLICY_WITH_CHARTS
    return HTMLResponse(held_together(text), status_code=status, headers=headers)


def reader_units(request: Request, site_units: str = "SI") -> str:
    """Units that the reader chose, or those of the site."""
    chosen = secret_of(request, UNITS_COOKIE)
    return chosen if chosen in UNIT_SYSTEMS else site_units


def here(request: Request) -> str:
    """Path of this page with its query, to come back to."""
    return f"{request.url.path}?{request.url.query}" if request.url.query else request.url.path


def safe_path(target: str) -> str:
    """Return a path of this site to go on to; anything else becomes the front page."""
    parts = urlsplit(target)
    local = target.startswith("/") and not target.startswith(("//", "/\\")) and not parts.scheme and not parts.netloc
    return target if local and target.isprintable() else "/"


def frame_of(request: Request, title: str, *, site_units: str = "SI", tabs: TrainTabs | None = None) -> Frame:
    """The frame around a page of this request."""
    path = here(request) if request.method == "GET" else "/"
    person = getattr(request.state, "user", None)
    person = person if isinstance(person, Person) else None
    return Frame(
        title=title, units=reader_units(request, site_units), path=path, tabs=tabs,
        person=person.name if person else "", rights=_rights(request, person), form_token=form_token(request),
    )  # fmt: skip


def _rights(request: Request, person: Person | None) -> frozenset[str]:
    """What a person may do at the site of this request, and beyond it."""
    if person is None:
        return frozenset()
    site_id = getattr(request.state, "site_id", 0)
    rights = {right for right in SITE_RIGHTS if person.may(right, site_id)}
    rights |= {Right.FLEET_BUDGET} if person.may_see_budgets else set()
    rights |= {Right.ADD_PLANT} if person.may_add_plants else set()
    rights |= {Right.ADMINISTER} if person.administrator else set()
    return frozenset(right.value for right in rights)


@dataclass(frozen=True)
class ErrorPage:
    """What went wrong, in plain words, and what to do."""

    frame: Frame
    heading: str
    message: str
    advice: str


_ERRORS: dict[int, tuple[str, str]] = {
    400: ("This could not be read", "Go back and try again."),
    401: ("Sign in first", "Sign in, go back, and send it again."),
    403: ("This is not open to you", "Ask whoever looks after this logbook."),
    404: ("There is nothing here", "Check the address, or start again from the fleet."),
    405: ("This cannot be done here", "Go back and use the buttons on the page."),
    409: ("This does not fit what is there", "Go back, look at what has changed, and try again."),
    413: ("This file is too large", "Split it by year or by month and bring the parts in one after the other."),
    421: ("This server has another name", "Use the address that its administrator gave you."),
    422: (
        "Something in the form could not be read",
        "Go back; what you entered is still there. Mend it and try again.",
    ),
}
_ERRORS |= {
    429: ("Too many tries", "Wait a little, then try again."),
    503: ("Too busy at this moment", "Nothing was changed. Try again in some seconds."),
}
_UNFORESEEN = (
    "Something broke on our side",
    "Nothing was changed. Try again; if it stays, tell whoever runs this server.",
)


def render_error(request: Request, *, status: int, message: str) -> Response:
    """Show an error as a page with its status."""
    heading, advice = _ERRORS.get(status, _UNFORESEEN)
    frame = dataclasses.replace(frame_of(request, heading), path="/")
    page = ErrorPage(frame, heading, _full_stop(message), advice)
    return render("error.html", page, status=status)


def refuse(
    request: Request,
    *,
    status: int,
    message: str,
    headers: Mapping[str, str] | None = None,
    errors: Sequence[Mapping[str, Any]] = (),
) -> Response:
    """Show an error as whoever asked can read it: a page, or a document under /api/, with the errors one by one."""
    if not request.url.path.startswith("/api/"):
        response = render_error(request, status=status, message=message)
    else:
        text = _full_stop(message) or "Something broke on our side."
        document: dict[str, Any] = {"error": text} | ({"errors": list(errors)} if errors else {})
        response = JSONResponse(document, status, headers=ALWAYS | NOT_KEPT)
    response.headers.update(headers or {})
    return response


def _full_stop(message: str) -> str:
    text = message.strip()
    return f"{text}." if text and text[-1] not in ".?:" else text
