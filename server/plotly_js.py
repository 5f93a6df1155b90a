"""The charting script, served from its installed package: compressed once, cached for good."""

import gzip
import importlib.metadata
from functools import cache
from pathlib import Path

import plotly
from fastapi import APIRouter, Request, Response

from server.accounts.needs import needs
from server.accounts.roles import Right

router = APIRouter()
CACHE_FOR_GOOD = "public, max-age=31536000, immutable"


@cache
def plotly_path() -> str:
    """Address of the script; it names the version, so that it can be cached for good."""
    return f"/static/plotly.min.js?v={importlib.metadata.version('plotly')}"


@cache
def _script() -> bytes:
    return (Path(plotly.__file__).parent / "package_data" / "plotly.min.js").read_bytes()


@cache
def _compressed() -> bytes:
    return gzip.compress(_script(), 9, mtime=0)


@router.get("/static/plotly.min.js", include_in_schema=False, dependencies=[needs(Right.PUBLIC)])
def show_plotly(request: Request) -> Response:
    headers = {"Cache-Control": CACHE_FOR_GOOD}
    if "gzip" not in request.headers.get("accept-encoding", ""):
        return Response(_script(), media_type="text/javascript", headers=headers)
    headers |= {"Content-Encoding": "gzip", "Vary": "Accept-Encoding"}  # the compressing middleware adds it elsewhere
    return Response(_compressed(), media_type="text/javascript", headers=headers)
