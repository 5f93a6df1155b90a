"""Templates load, fail on unknown names, escape what people wrote; paths to come back to stay on this site."""

from dataclasses import dataclass
from pathlib import Path

import jinja2
import pytest

from server import templating
from server.templating import ENVIRONMENT, Frame, render, safe_path, static_url

TEMPLATES = Path(templating.__file__).parent / "templates"


@pytest.mark.parametrize("path", sorted(p.relative_to(TEMPLATES).as_posix() for p in TEMPLATES.rglob("*.*")))
def test_every_template_loads(path: str) -> None:
    assert ENVIRONMENT.get_template(path).name == path


def test_a_name_that_the_page_does_not_have_is_an_error() -> None:
    with pytest.raises(jinja2.UndefinedError):
        ENVIRONMENT.from_string("{{ page.nothing }}").render(page=object())


@dataclass(frozen=True)
class _Error:
    frame: Frame
    heading: str
    message: str
    advice: str


def test_what_people_wrote_is_escaped_and_nothing_comes_from_elsewhere() -> None:
    frame = Frame("<b>title</b>", "SI", "/")
    response = render("error.html", _Error(frame, "<script>alert(1)</script>", "", ""))
    text = bytes(response.body).decode()
    assert "<script>alert" not in text and "&lt;script&gt;" in text and "<b>title" not in text
    policy = response.headers["content-security-policy"]
    assert "script-src 'self';" in policy and "default-src 'none'" in policy
    assert " style=" not in text and "onclick" not in text


@pytest.mark.parametrize("target", ["/", "/trains/1/readings?show=used&leaf=2"])
def test_a_path_of_this_site_is_gone_back_to(target: str) -> None:
    assert safe_path(target) == target


@pytest.mark.parametrize(
    "target",
    ["//elsewhere.example/x", "https://elsewhere.example", "/\\elsewhere.example", "javascript:x", "", "/a\nb"],
)
def test_any_other_target_becomes_the_front_page(target: str) -> None:
    assert safe_path(target) == "/"


def test_the_address_of_a_static_file_changes_with_the_file() -> None:
    assert static_url("skidbook.css").startswith("/static/skidbook.css?v=")
    assert static_url("skidbook.css") != static_url("charts.js")


@pytest.mark.parametrize("path", sorted(p.relative_to(TEMPLATES).as_posix() for p in TEMPLATES.rglob("*.html")))
def test_no_template_counts_or_styles_by_itself(path: str) -> None:
    """Arithmetic belongs to Python, looks to the style sheet, behaviour to a script file."""
    text = (TEMPLATES / path).read_text(encoding="utf-8")
    assert " style=" not in text and " on" + "click=" not in text
    for expression in text.split("{{")[1:]:
        inside = expression.split("}}")[0]
        assert not any(f" {sign} " in inside for sign in "+*/"), inside
