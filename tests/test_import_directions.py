"""The rooms import one another in the directions written in pyproject.toml."""

from importlinter.cli import lint_imports


def test_rooms_import_downwards_only() -> None:
    assert lint_imports(config_filename="pyproject.toml", no_cache=True) == 0
