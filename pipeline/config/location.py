"""What the location of a feed may say: placeholders, the kind of server, and what that needs."""

import re
from urllib.parse import urlsplit

from pipeline.config.credentials import Credentials
from pipeline.config.faults import Faults, did_you_mean
from pipeline.config.network import Feed

MONTH = re.compile(r"\{month(?::([^{}]+))?\}")
"""{month}, or {month:FORMAT} with %Y, %y and %m in FORMAT; %Y-%m when no format is given."""

_MAY = {
    "sftp": {"user", "password_file", "password_env", "key_file", "known_hosts"},
    "s3": {"user", "password_file", "password_env", "endpoint", "region", "anonymous", "ca_file"},
    "https": {"user", "password_file", "password_env", "ca_file", "anonymous"},
    "smb": {"user", "password_file", "password_env"},
}
"""What credentials may hold for each kind of server."""
_INSTEAD = {
    "http": "anyone on the way could read and change the logs; use https://",
    "ftp": "the password would travel in the open; use sftp://",
    "ssh": "write sftp://",
    "scp": "write sftp://",
    "s3a": "write s3://",
}
_LOOPBACK = {"127.0.0.1", "localhost", "::1"}


def check_location(feed: Feed, known: dict[str, Credentials], faults: Faults) -> None:
    """Note what a feed's location lacks, and which of its credentials cannot be meant."""
    where = f'network.toml: feed "{feed.name}"'
    _check_placeholders(where, feed.location, faults)
    scheme, is_remote, _ = feed.location.partition("://")
    if not is_remote or scheme == "file":
        if feed.credentials:
            faults.add(where, "has credentials, but its location is a folder; leave them out.")
        return
    if "::" in feed.location and "[" not in feed.location:
        faults.add(where, 'has "::" in its location; write one address, without a chain.')
    if scheme in _INSTEAD:
        faults.add(where, f"has a location that begins with {scheme}://; {_INSTEAD[scheme]}.")
    if "@" in urlsplit(feed.location).netloc:
        faults.add(
            where,
            "has a user in its location; put it into [credentials.NAME], user = ..., instead.",
        )
    if feed.credentials and feed.credentials not in known:
        hint = did_you_mean(feed.credentials, known)
        faults.add(where, f'has credentials "{feed.credentials}", which are not declared. {hint}')
    elif scheme in _MAY:
        _check_credentials(where, scheme, known.get(feed.credentials or ""), faults)


def _check_placeholders(where: str, location: str, faults: Faults) -> None:
    for name in re.findall(r"\{[^{}]*\}?", MONTH.sub("", location.replace("{site}", ""))):
        faults.add(
            where, f"has {name} in its location; write {{site}}, {{month}} or {{month:%Y%m}}."
        )
    for form in filter(None, MONTH.findall(location)):
        if re.sub(r"%[Yym]", "", form).count("%") or not {"%m"} <= set(re.findall("%.", form)):
            faults.add(where, f"has {{month:{form}}}; use %Y or %y, and %m, as in {{month:%Y%m}}.")


def _check_credentials(where: str, scheme: str, one: Credentials | None, faults: Faults) -> None:
    if one is None:
        if scheme != "https":
            faults.add(where, f"needs credentials for {scheme}://; declare [credentials.NAME].")
        return
    given = {name for name, value in vars(one).items() if value and name != "name"}
    for name in sorted(given - _MAY[scheme]):
        faults.add(where, f'credentials "{one.name}" have {name}, which {scheme}:// does not use.')
    if scheme == "sftp" and not one.known_hosts:
        faults.add(
            where,
            f'credentials "{one.name}" have no known_hosts; write the server\'s host key into a '
            "file, as ssh-keyscan prints it, and have the clinic confirm its fingerprint.",
        )
    if scheme in ("sftp", "smb") and not one.user:
        faults.add(where, f'credentials "{one.name}" have no user.')
    if not one.anonymous and not one.has_password and not one.key_file and one.user:
        ways = "password_file, password_env or key_file" if scheme == "sftp" else "password_file"
        faults.add(where, f'credentials "{one.name}" have a user and no {ways}.')
    if scheme == "s3" and not one.anonymous and not one.user:
        faults.add(
            where, f'credentials "{one.name}" have no user (the key\'s id); or anonymous = true.'
        )
    endpoint = urlsplit(one.endpoint or "https://")
    if endpoint.scheme != "https" and endpoint.hostname not in _LOOPBACK:
        faults.add(where, f'credentials "{one.name}" have an endpoint without https://.')
