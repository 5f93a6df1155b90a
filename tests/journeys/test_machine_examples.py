"""Every example of docs/api.md does what it says when it is pasted into a shell or a file, against a running server."""

import contextlib
import os
import re
import shutil
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from server.accounts.actions import add_token
from server.api.examples import CURL, PYTHON
from server.db import transaction
from tests.journeys.test_push_folder import served

__all__ = ["served"]
GUIDE = Path(__file__).parents[2] / "docs" / "api.md"
EXAMPLES = sorted(
    {*re.findall(r"```(sh|python)\n(.*?)```", GUIDE.read_text(encoding="utf-8"), re.S)}
    | {("sh", text) for text in CURL.values()}
    | {("python", text) for text in PYTHON.values()}
)


def wait_for_a_verdict(address: str, token: str) -> None:
    """It is worked out in the background once there are readings."""
    headers = {"Authorization": f"Bearer {token}"}
    request = urllib.request.Request(f"{address}/api/v1/trains/1/assessment", headers=headers)
    for _ in range(400):
        with contextlib.suppress(urllib.error.HTTPError), urllib.request.urlopen(request):
            return
        time.sleep(0.05)
    raise AssertionError("there is no verdict after twenty seconds")


def test_every_example_runs(served: tuple[str, str, object]) -> None:
    address, _, engine = served
    with transaction(engine) as session:  # type: ignore[arg-type]
        token = add_token(session, 1, "reader", may_read=True, may_write=True, author="x")
    environment = os.environ | {"SKIDBOOK": address, "TOKEN": token}
    commands = {"sh": ["bash", "-c"], "python": [sys.executable, "-c"]}
    if shutil.which("curl") is None:
        commands.pop("sh")
    runnable = [one for one in [("python", PYTHON["send"]), *EXAMPLES] if one[0] in commands]
    for number, (language, text) in enumerate(runnable):
        if number == 1:
            wait_for_a_verdict(address, token)
        done = subprocess.run([*commands[language], text], capture_output=True, text=True, env=environment, timeout=60)
        assert done.returncode == 0 and done.stdout.strip(), (text, done.stderr)
        assert '"error"' not in done.stdout and "'error'" not in done.stdout, (text, done.stdout)


@pytest.mark.skipif(shutil.which("curl") is None, reason="there is no curl here")
def test_curl_says_what_was_stored(served: tuple[str, str, object]) -> None:
    address, token, _ = served
    environment = os.environ | {"SKIDBOOK": address, "TOKEN": token}
    done = subprocess.run(["bash", "-c", CURL["send"]], capture_output=True, text=True, env=environment, timeout=60)
    assert '"stored":1' in done.stdout
