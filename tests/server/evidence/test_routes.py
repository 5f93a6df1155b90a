"""The evidence file: complete, checkable, and of this train alone."""

import csv
import hashlib
import io
import json
import zipfile

import pytest
from fastapi.testclient import TestClient

from server.evidence.tables import tables_of_train


@pytest.fixture(scope="module")
def archive(demo_url: str) -> zipfile.ZipFile:
    from server.app import create_app
    from server.settings import Settings
    from tests.people import signed_in

    with signed_in(create_app(Settings(database_url=demo_url))) as client:
        response = client.get("/trains/1/evidence.zip")
    assert response.status_code == 200 and "evidence.zip" in response.headers["content-disposition"]
    return zipfile.ZipFile(io.BytesIO(response.content))


def test_every_file_is_in_the_manifest_with_its_checksum(archive: zipfile.ZipFile) -> None:
    files = json.loads(archive.read("manifest.json"))["files"]
    assert set(files) == set(archive.namelist()) - {"manifest.json"}
    for name, kept in files.items():
        content = archive.read(name)
        assert (hashlib.sha256(content).hexdigest(), len(content)) == (kept["sha256"], kept["bytes"])


def test_every_table_of_a_train_is_there(archive: zipfile.ZipFile) -> None:
    names = set(archive.namelist())
    assert {f"tables/{name}.csv" for name in tables_of_train()} <= names
    assert {"readings", "events", "imports", "audit", "daily", "element_stays", "feed_analyses"} <= set(
        tables_of_train()
    )
    assert {"tables/reading_revisions.csv", "tables/elements.csv", "plant.json", "assessment.json"} <= names


def test_readings_are_all_there_and_of_this_train_alone(archive: zipfile.ZipFile) -> None:
    rows = list(csv.DictReader(io.StringIO(archive.read("tables/readings.csv").decode())))
    assert len(rows) == json.loads(archive.read("assessment.json"))["readings"]["total"]
    assert {row["train_id"] for row in rows} == {"1"}
    assert "content" not in archive.read("tables/imports.csv").decode().splitlines()[0].split(",")


def test_the_first_page_says_which_limits_were_kept(archive: zipfile.ZipFile) -> None:
    text = archive.read("READ ME FIRST.txt").decode()
    assert "feed pressure: 41 bar; kept on all" in text and "pressure drop of stage 2" in text
    assert "chlorine" not in text.split("Limits:")[1]  # not metered on this train


def test_a_train_without_readings_has_a_file_too(client: TestClient, plant_text: str) -> None:
    client.post("/plants", data={"text": plant_text.replace("booster = true", "")})
    response = client.get("/trains/1/evidence.zip")
    assert response.status_code == 200
    assert "assessment.json" not in zipfile.ZipFile(io.BytesIO(response.content)).namelist()
    assert client.get("/trains/2/evidence.zip").status_code == 404
