"""Settings come from the environment; a slip is told in one line."""

import pytest

from server.settings import Settings, WrongSetting, load_settings


def test_defaults(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in Settings.model_fields:
        monkeypatch.delenv(f"SKIDBOOK_{name.upper()}", raising=False)
    found = load_settings()
    assert (found.database_url, found.host, found.port) == ("sqlite:///skidbook.db", "127.0.0.1", 8420)
    assert found.max_upload_bytes == 64 * 1024 * 1024


def test_each_is_read_from_the_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SKIDBOOK_PORT", "9000")
    monkeypatch.setenv("SKIDBOOK_MAX_UPLOAD_ROWS", "10")
    assert (load_settings().port, load_settings().max_upload_rows) == (9000, 10)


@pytest.mark.parametrize(("name", "value"), [("PORT", "x"), ("PORT", "70000"), ("MAX_UPLOAD_BYTES", "0")])
def test_a_slip_is_named(monkeypatch: pytest.MonkeyPatch, name: str, value: str) -> None:
    monkeypatch.setenv(f"SKIDBOOK_{name}", value)
    with pytest.raises(WrongSetting, match=f'SKIDBOOK_{name}: "{value}" cannot be used'):
        load_settings()


def test_every_setting_says_what_it_is_for() -> None:
    assert [name for name, field in Settings.model_fields.items() if not field.description] == []
