"""The list of readings: newest first, narrowed by what was done with them, in the reader's units."""

import re

from fastapi.testclient import TestClient

from tests.server.seen import seen


def choices(page: str) -> dict[str, int]:
    """Ways to narrow the list with their counts."""
    nav = page.split('aria-label="Which readings"', 1)[1].split("</nav>", 1)[0]
    found = re.findall(r'<span>([^<]+)</span> <span class="count">([^<]+)</span>', nav)
    return {label: int(count.replace("\u202f", "")) for label, count in found}


def test_the_counts_add_up(demo_client: TestClient) -> None:
    counts = choices(demo_client.get("/trains/1/readings").text)
    total, used, aside = counts.pop("All"), counts.pop("Used"), counts.pop("Set aside")
    assert used + aside == total
    assert sum(counts.values()) == aside > 0


def test_each_way_to_narrow_shows_as_many_as_it_says(demo_client: TestClient) -> None:
    page = demo_client.get("/trains/1/readings").text
    links = re.findall(r'<a href="(/trains/1/readings[^"]*)"[^>]*><span>([^<]+)<', page)
    counts = choices(page)
    for link, label in links:
        text = seen(demo_client.get(link).text)
        shown = int(re.search(r"1 to [\d ]+ of ([\d ]+)", text).group(1).replace(" ", ""))  # type: ignore[union-attr]
        assert shown == counts[label], label


def test_readings_set_aside_say_why(demo_client: TestClient) -> None:
    text = seen(demo_client.get("/trains/1/readings?show=start-up").text)
    assert "the plant had not settled yet" in text


def test_the_newest_comes_first_and_leaves_lead_on(demo_client: TestClient) -> None:
    first = demo_client.get("/trains/1/readings")
    assert "31\u00a0October 2026" in first.text.split("<tbody>")[1].split("</tr>")[0]
    second = demo_client.get("/trains/1/readings?leaf=2")
    assert "101 to 200 of" in seen(second.text) and "Newer" in seen(second.text)
    assert "There are none of these." in seen(demo_client.get("/trains/1/readings?leaf=999").text)


def test_values_are_in_the_units_of_the_site(demo_client: TestClient) -> None:
    assert " psi" in seen(demo_client.get("/trains/2/readings").text)
    assert " bar" in seen(demo_client.get("/trains/1/readings").text)


def test_a_leaf_that_is_no_number_is_a_plain_answer(demo_client: TestClient) -> None:
    response = demo_client.get("/trains/1/readings?leaf=two")
    assert response.status_code == 422 and "could not be read" in seen(response.text)
