"""Names of files and cells of words: nothing that a file system, a header or a spreadsheet takes for something else."""

import io
import re
from pathlib import Path

import pandas as pd
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from hypothesis import given
from hypothesis import strategies as st

from server.commands.normalize import run_normalize
from server.security.file_names import FORBIDDEN, LONGEST, attachment, safe_file_name
from server.security.spreadsheets import STARTS, plain_cell, plain_cells
from tests.server.security.conftest import as_role


@given(st.text(max_size=400))
def test_any_name_becomes_a_name_and_never_a_path(name: str) -> None:
    safe = safe_file_name(name)
    assert 0 < len(safe) <= LONGEST and safe.isprintable() and not set(safe) & FORBIDDEN
    assert safe not in {".", ".."} and Path(safe).name == safe
    header = attachment(name)
    assert re.fullmatch(r"attachment; filename=\"[^\"\\\r\n]+\"; filename\*=UTF-8''[\w.%~-]+", header, re.ASCII)
    header.encode("latin-1")


@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-cmd|' /C calc'!A0", "@SUM(A1)", "\t=1", "\r=1", "\n=1", "\x00=1", "＝1"]
)
def test_words_that_begin_like_a_formula_are_made_plain(text: str) -> None:
    assert plain_cell(text) == f"'{text}"


@given(st.text())
def test_no_cell_of_words_begins_like_a_formula(text: str) -> None:
    assert not plain_cell(text).startswith(STARTS)
    assert plain_cell(text).endswith(text)


def test_numbers_stay_numbers_in_what_is_written(tmp_path: Path, plant_text: str) -> None:
    (tmp_path / "plant.toml").write_text(plant_text, encoding="utf-8")
    log = 'time,feed_temperature [degC],remark\n2026-02-01T06:00Z,-1.5,"=HYPERLINK(""http://x"")"\n'
    (tmp_path / "log.csv").write_text(log, encoding="utf-8")
    out = tmp_path / "out.csv"
    run_normalize(tmp_path / "plant.toml", tmp_path / "log.csv", out=out, mapping=None)
    frame = pd.read_csv(io.StringIO(out.read_text(encoding="utf-8")))
    assert frame["remark"].tolist() == ['\'=HYPERLINK("http://x")']
    assert frame["feed_temperature [degC]"].tolist() == [-1.5]


def test_columns_of_words_are_made_plain_whole() -> None:
    assert plain_cells(pd.Series(["a", "=b", ""])).tolist() == ["a", "'=b", ""]


@pytest.mark.parametrize("name", ["../../../etc/passwd", "C:\\logs\\a.csv", "a\u202egnp.csv", "x" * 400 + ".csv"])
def test_the_name_of_an_upload_is_kept_as_a_plain_name(app: FastAPI, anybody: TestClient, name: str) -> None:
    log = b"time,feed_pressure [bar]\n2026-02-05T06:00Z,12.1\n"
    headers = as_role(app, "administrator")
    made = anybody.post("/trains/1/imports", files={"file": (name, log)}, headers=headers)
    page = anybody.get(made.headers["location"], headers=headers)
    assert page.status_code == 200
    assert safe_file_name(name) in page.text and "../" not in page.text and "\u202e" not in page.text
