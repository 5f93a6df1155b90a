"""Photos of a cleaning: kept by their content, shown to those who see the site, in evidence, and never deleted."""

import csv
import io
import json
import zipfile

import pytest
from fastapi.testclient import TestClient

from tests.server.cleanings.test_routes import ENTERED, LIST
from tests.server.seen import seen
from tests.server.shift.test_routes import PNG

PLACE = "/cleanings/1/photos"


@pytest.fixture
def cleaned(client: TestClient, plant_text: str) -> TestClient:
    client.post("/plants", data={"text": plant_text})
    client.post(LIST, data=ENTERED)
    return client


def add(client: TestClient, *contents: bytes, caption: str = "Colour of the first bath") -> int:
    files = [("photo", ("gauge.exe", content, "text/html")) for content in contents]
    return client.post(PLACE, data={"caption": caption}, files=files, follow_redirects=False).status_code


def test_photos_are_added_and_shown(cleaned: TestClient) -> None:
    assert add(cleaned, PNG, PNG) == 303
    page = cleaned.get("/cleanings/1").text
    assert page.count('src="/cleanings/1/photos/') == 2 and "Colour of the first bath" in page
    shown = cleaned.get(f"{PLACE}/1")
    assert (shown.content, shown.headers["content-type"]) == (PNG, "image/png")
    assert "sandbox" in shown.headers["content-security-policy"]
    assert shown.headers["x-content-type-options"] == "nosniff"
    assert "Photo of a cleaning added" in seen(cleaned.get("/trains/1/history").text)


def test_a_photo_of_another_cleaning_is_not_there(cleaned: TestClient) -> None:
    add(cleaned, PNG)
    cleaned.post(LIST, data=ENTERED | {"started": "2026-06-25T07:00", "ended": "2026-06-25T18:00"})
    assert cleaned.get("/cleanings/2/photos/1").status_code == 404
    assert cleaned.post("/cleanings/2/photos/1/void").status_code == 404
    assert cleaned.get(f"{PLACE}/9").status_code == 404


def test_what_is_no_photo_or_too_large_or_too_many_changes_nothing(cleaned: TestClient) -> None:
    assert add(cleaned, b"<svg/>") == 422
    assert add(cleaned, PNG, b"<svg/>") == 422
    assert add(cleaned, b"\xff\xd8" + bytes(3_000_001)) == 413
    assert add(cleaned) == 409
    assert add(cleaned, *[PNG] * 13) == 409
    assert "/photos/1" not in cleaned.get("/cleanings/1").text
    assert add(cleaned, *[PNG] * 12) == 303 and add(cleaned, PNG) == 409


def test_a_photo_out_of_use_is_not_shown_but_stays(cleaned: TestClient) -> None:
    add(cleaned, PNG)
    assert cleaned.post(f"{PLACE}/1/void", follow_redirects=False).status_code == 303
    assert "/photos/1" not in cleaned.get("/cleanings/1").text and cleaned.get(f"{PLACE}/1").content == PNG
    assert cleaned.post(f"{PLACE}/1/void").status_code == 409
    cleaned.post("/cleanings/1/void", data={"reason": "never happened"})
    assert add(cleaned, PNG) == 409


def test_evidence_holds_photos_and_older_versions(cleaned: TestClient) -> None:
    add(cleaned, PNG)
    cleaned.post("/cleanings/1/amend", data=ENTERED | {"people": "Cleo", "revision": "1", "why": "it was Cleo"})
    archive = zipfile.ZipFile(io.BytesIO(cleaned.get("/trains/1/evidence.zip").content))
    assert archive.read("photos/cleaning 1 photo 1.png") == PNG
    assert "photos/cleaning 1 photo 1.png" in json.loads(archive.read("manifest.json"))["files"]
    photos, versions = (
        list(csv.DictReader(io.StringIO(archive.read(f"tables/cleaning_{name}.csv").decode())))
        for name in ("photos", "revisions")
    )
    assert photos[0]["caption"] == "Colour of the first bath" and "content" not in photos[0]
    assert versions[0]["reason"] == "it was Cleo"
