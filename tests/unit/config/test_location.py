"""Where logs lie and who we are there: what may be declared, and what is told to write instead."""

import tomllib

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.config.load import load_network

LOCAL = 'location = "logs/{site}/*.csv"'
ENDS = "[group]"
GOOD = {
    "sftp": 'user = "h"\nkey_file = "key"\nknown_hosts = "hosts"',
    "s3": 'user = "id"\npassword_env = "SECRET"\nendpoint = "https://store.example"\nregion = "x"',
    "https": 'user = "h"\npassword_file = "pw"\nca_file = "ca.pem"',
    "smb": 'user = "h"\npassword_file = "pw"',
}


@pytest.fixture
def declare(spoil):
    """Put a location and a table of credentials into the network."""

    def declared(location: str, settings: str | None, name: str = "clinic"):
        used = f'\ncredentials = "{name}"' if settings is not None else ""
        folder = spoil("network.toml", LOCAL, f'location = "{location}"{used}')
        if settings is not None:
            spoil("network.toml", ENDS, f"[credentials.clinic]\n{settings}\n\n[group]")
        return folder

    return declared


def faults_of(folder) -> str:
    with pytest.raises(ConfigurationError) as caught:
        load_network(folder)
    return str(caught.value)


@pytest.mark.parametrize("scheme", GOOD)
def test_credentials_become_frozen_objects_whose_files_lie_beside_the_network(declare, scheme):
    folder = declare(f"{scheme}://logs.example/{{site}}/{{month:%Y%m}}/*.csv", GOOD[scheme])
    network = load_network(folder)
    (feed,) = network.feeds
    one = network.credentials[feed.credentials]
    assert one.name == "clinic"
    for path in (one.key_file, one.password_file, one.known_hosts, one.ca_file):
        assert path is None or path.parent == folder


def test_each_clinic_may_have_an_account_of_its_own(declare):
    settings = 'user = "h-{site}"\npassword_file = "{site}.pw"'
    network = load_network(declare("smb://{site}.example/logs/*.csv", settings))
    one = network.credentials["clinic"].for_site("umber-bay")
    assert (one.user, one.password_file.name) == ("h-umber-bay", "umber-bay.pw")


@pytest.mark.parametrize(
    ("location", "settings", "told"),
    [
        ("http://h.example/{site}/*.csv", None, "use https://"),
        ("ftp://h.example/{site}/*.csv", None, "use sftp://"),
        ("sftp://me:pw@h.example/{site}/*.csv", GOOD["sftp"], "has a user in its location"),
        ("zip://*.csv::sftp://h.example/{site}.zip", None, 'has "::" in its location'),
        ("sftp://h.example/{site}/*.csv", None, "needs credentials for sftp://"),
        ("s3://logs/{site}/*.csv", None, "needs credentials for s3://"),
        ("sftp://h.example/{site}/*", 'user = "h"\nkey_file = "key"', "have no known_hosts"),
        ("sftp://h.example/{site}/*", 'key_file = "k"\nknown_hosts = "h"', "have no user"),
        ("sftp://h.example/{site}/*", 'user = "h"\nknown_hosts = "h"', "have a user and no"),
        ("s3://logs/{site}/*", 'endpoint = "https://x.example"', "or anonymous = true"),
        ("s3://logs/{site}/*", GOOD["s3"].replace("https:", "http:"), "endpoint without https://"),
        ("smb://h.example/{site}/*", GOOD["smb"] + '\nregion = "x"', "smb:// does not use"),
        ("logs/{site}/*.csv", GOOD["smb"], "its location is a folder"),
        ("logs/{site}/{year}/*.csv", None, "has {year} in its location"),
        ("logs/{site}/{month:%d}/*.csv", None, "has {month:%d}; use %Y or %y, and %m"),
        ("logs/{site}/{month:%Y}/*.csv", None, "has {month:%Y}; use %Y or %y, and %m"),
        ("logs/{site}/{month:}/*.csv", None, "has {month:} in its location"),
    ],
)
def test_what_cannot_be_meant_is_told_with_what_to_write(declare, location, settings, told):
    assert told in faults_of(declare(location, settings))


@pytest.mark.parametrize(
    ("settings", "told"),
    [
        ('password = "hush"', "in the open"),
        ('usr = "h"', 'has no setting "usr". Did you mean "user"?'),
        ("user = 5", 'user is 5; write user = "...".'),
        ('anonymous = "yes"', "write anonymous = true."),
        ('user = "h"\npassword_file = "a"\npassword_env = "B"', "leave one out"),
    ],
)
def test_a_setting_that_is_wrong_is_told_and_a_password_never(declare, settings, told):
    faults = faults_of(declare("smb://h.example/{site}/*", settings))
    assert told in faults
    assert "hush" not in faults


def test_credentials_that_are_not_declared_are_named_with_the_nearest(declare):
    folder = declare("smb://h.example/{site}/*.csv", GOOD["smb"], name="clinik")
    assert 'credentials "clinik", which are not declared. Did you mean "clinic"?' in faults_of(
        folder
    )


@pytest.mark.parametrize(("declared", "at_once"), [("", 2), ("[pull]\nat_once = 5\n\n", 5)])
def test_two_locations_are_read_at_once_unless_a_group_says_otherwise(spoil, declared, at_once):
    folder = spoil("network.toml", ENDS, f"{declared}[group]")
    assert load_network(folder).at_once == at_once


@pytest.mark.parametrize("at_once", ["0", '"two"', "true", "65"])
def test_how_many_at_once_is_a_small_number(spoil, at_once):
    folder = spoil("network.toml", ENDS, f"[pull]\nat_once = {at_once}\n\n[group]")
    assert f"at_once is {tomllib.loads(f'x = {at_once}')['x']!r}; write a number from 1 to 64" in (
        faults_of(folder)
    )


@pytest.mark.parametrize(("declared", "most"), [("", 2048), ("[pull]\nmax_file_mib = 5\n", 5)])
def test_a_file_may_have_two_gibibytes_unless_a_group_says_otherwise(spoil, declared, most):
    network = load_network(spoil("network.toml", ENDS, f"{declared}[group]"))
    assert (network.max_file_mib, network.at_once) == (most, 2)


def test_a_bound_of_no_size_and_an_unknown_setting_are_told(spoil):
    declared = "[pull]\nmax_file_mib = 0\nmax_file_gib = 2\n[group]"
    told = faults_of(spoil("network.toml", ENDS, declared))
    assert "max_file_mib is 0; write a number from 1 to 65536" in told
    assert 'has no setting "max_file_gib". Known: at_once, max_file_mib' in told
