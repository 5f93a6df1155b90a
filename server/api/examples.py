"""Examples of how to call the interface, shown in its description and in docs/api.md: with curl, and with Python."""

from typing import Any

CURL = {
    "trains": 'curl -H "Authorization: Bearer $TOKEN" "$SKIDBOOK/api/v1/trains"',
    "readings": 'curl -H "Authorization: Bearer $TOKEN" "$SKIDBOOK/api/v1/trains/1/readings?since=2026-01-01"',
    "daily": 'curl -H "Authorization: Bearer $TOKEN" "$SKIDBOOK/api/v1/trains/1/daily"',
    "assessment": 'curl -H "Authorization: Bearer $TOKEN" "$SKIDBOOK/api/v1/trains/1/assessment"',
    "assessments": 'curl -H "Authorization: Bearer $TOKEN" "$SKIDBOOK/api/v1/trains/1/assessments"',
    "send": """curl -H "Authorization: Bearer $TOKEN" -H "Content-Type: application/json" \\
  -H "Idempotency-Key: shift-2026-01-05-1" "$SKIDBOOK/api/v1/trains/1/readings" -d '
{"units": {"feed_pressure_bar": "psi"},
 "readings": [{"taken_at": "2026-01-05T06:10:00Z", "state": "running",
               "values": {"feed_pressure_bar": 174.5, "permeate_flow_m3h": 18.0, "feed_temperature_c": 16.5}}]}'""",
}
_ASK = """import json, os, urllib.request

address = os.environ["SKIDBOOK"] + "{path}"
headers = {{"Authorization": "Bearer " + os.environ["TOKEN"]}}
with urllib.request.urlopen(urllib.request.Request(address, headers=headers)) as answer:
    print(json.load(answer))
"""
_ASK_PAGES = """import json, os, urllib.parse, urllib.request

address = os.environ["SKIDBOOK"] + "{path}"
headers = {{"Authorization": "Bearer " + os.environ["TOKEN"]}}
cursor = ""
while cursor is not None:
    page = address + "?" + urllib.parse.urlencode({{"cursor": cursor}})
    with urllib.request.urlopen(urllib.request.Request(page, headers=headers)) as answer:
        found = json.load(answer)
    print(found["{what}"])
    cursor = found["next"]
"""
_SEND = """import json, os, urllib.request

batch = {
    "units": {"feed_pressure_bar": "psi"},
    "readings": [
        {
            "taken_at": "2026-01-05T06:10:00Z",
            "state": "running",
            "values": {"feed_pressure_bar": 174.5, "permeate_flow_m3h": 18.0, "feed_temperature_c": 16.5},
        }
    ],
}
request = urllib.request.Request(
    os.environ["SKIDBOOK"] + "/api/v1/trains/1/readings",
    data=json.dumps(batch).encode(),
    headers={
        "Authorization": "Bearer " + os.environ["TOKEN"],
        "Content-Type": "application/json",
        "Idempotency-Key": "shift-2026-01-05-1",
    },
)
with urllib.request.urlopen(request) as answer:
    print(json.load(answer))
"""
PYTHON = {
    "trains": _ASK.format(path="/api/v1/trains"),
    "readings": _ASK_PAGES.format(path="/api/v1/trains/1/readings", what="readings"),
    "daily": _ASK_PAGES.format(path="/api/v1/trains/1/daily", what="days"),
    "assessment": _ASK.format(path="/api/v1/trains/1/assessment"),
    "assessments": _ASK_PAGES.format(path="/api/v1/trains/1/assessments", what="assessments"),
    "send": _SEND,
}


def samples(name: str) -> dict[str, Any]:
    """What the description of a route shows beside it."""
    return {
        "x-codeSamples": [
            {"lang": "Shell", "label": "curl", "source": CURL[name]},
            {"lang": "Python", "label": "Python", "source": PYTHON[name]},
        ]
    }
