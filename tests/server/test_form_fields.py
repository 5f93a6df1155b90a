"""Text fields of a form, as routes take them."""

from fastapi import FastAPI
from fastapi.testclient import TestClient

from server.form_fields import FormFields


def test_the_last_of_fields_of_one_name_is_kept() -> None:
    app = FastAPI()

    @app.post("/")
    def show(sent: FormFields) -> dict[str, str]:
        return sent

    answer = TestClient(app).post("/", data={"a": "1", "b": ["2", "3"]})
    assert answer.json() == {"a": "1", "b": "3"}
