"""Where a password may come from, and what is said when it is not there."""

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.config.mail import Secret
from pipeline.deliver.secret import read_secret


def test_a_password_comes_from_a_file_a_variable_or_the_services_credentials(tmp_path):
    (tmp_path / "smtp").write_text("from-file\n", encoding="utf-8")
    environment = {"SMTP": "from-variable", "CREDENTIALS_DIRECTORY": str(tmp_path)}
    for secret, value in (
        (Secret(file=tmp_path / "smtp"), "from-file"),
        (Secret(env="SMTP"), "from-variable"),
        (Secret(credential="smtp"), "from-file"),
        (Secret(), ""),
    ):
        assert read_secret(secret, "mail", environment) == value


MISSING = [
    # where it should be            what is said
    (Secret(env="SMTP"), "the environment has no SMTP"),
    (Secret(credential="smtp"), "was handed none"),
]


@pytest.mark.parametrize(("secret", "said"), MISSING)
def test_a_password_that_is_not_there_is_told_with_its_place(secret, said):
    with pytest.raises(ConfigurationError, match=said):
        read_secret(secret, "mail", {})


def test_a_file_that_is_not_there_or_empty_is_told_by_its_name_alone(tmp_path):
    with pytest.raises(ConfigurationError, match="smtp cannot be read .FileNotFoundError"):
        read_secret(Secret(file=tmp_path / "smtp"), "mail", {})
    (tmp_path / "smtp").write_text("\n", encoding="utf-8")
    with pytest.raises(ConfigurationError, match="smtp is empty"):
        read_secret(Secret(file=tmp_path / "smtp"), "mail", {})
