"""One connection to each kind of server, through fsspec; what each must never do is settled here.

SFTP never talks to a host whose key is not the known one, whoever answers. No driver reads the
settings, keys or agents of the person who started the run: what is not declared is not used.
"""

from functools import partial
from importlib import import_module
from typing import Any
from urllib.parse import urlsplit

import fsspec
from fsspec.asyn import AsyncFileSystem

from pipeline.pull.access import Access
from pipeline.pull.trouble import RefusedError

CONNECT_SECONDS = 20
SILENT_SECONDS = 60
"""A server that says nothing for so long while it is read counts as gone."""
READ_SECONDS = 1800
"""The longest that one file may take."""


def connect(address: str, access: Access) -> Any:
    """A file system for an address; raises RefusedError, or what the driver raises."""
    scheme = urlsplit(address).scheme
    if "::" in address and "[" not in address:
        raise RefusedError('"::" in a location; write one address, without a chain.')
    if scheme in ("http", "ftp", "ssh", "scp"):
        raise RefusedError(f"{scheme}:// is not used; write https:// or sftp://.")
    if scheme in _DRIVERS:
        return _DRIVERS[scheme](address, access)
    return fsspec.filesystem(scheme, skip_instance_cache=True)


def disconnect(system: Any) -> None:
    """Close what `connect` opened. SMB sessions are shared between locations and stay open."""
    kind, loop = type(system).__name__, system.loop if isinstance(system, AsyncFileSystem) else None
    if kind == "SSHFileSystem":
        system.loop.call_soon_threadsafe(system.client.close)
    elif kind == "WebFileSystem" and system._session is not None:
        system.close_session(loop, system._session)
    elif kind == "S3FileSystem" and system._s3 is not None:
        system.close_session(loop, system._s3)


def part(module: str, extra: str) -> Any:
    """A module that an optional part of holdtime brings."""
    try:
        return import_module(module)
    except ImportError as error:
        raise RefusedError(
            f"{extra}:// needs a part that is not installed ({error.name}); "
            f"run pip install 'holdtime[{extra}]'."
        ) from None


def _sftp(address: str, access: Access) -> Any:
    sshfs, asyncssh = part("sshfs", "sftp"), part("asyncssh", "sftp")
    one, parts = access.credentials, urlsplit(address)
    host, port = parts.hostname or "", parts.port or 22
    if one.known_hosts is None:
        raise RefusedError("there is no known_hosts to check the server by; declare it.")
    known = asyncssh.import_known_hosts(access.text("known_hosts"))
    password = access.password()
    keys = (
        [asyncssh.import_private_key(access.text("key_file"), password)] if one.key_file else None
    )
    try:
        return sshfs.SSHFileSystem(
            host,
            port=port,
            username=one.user,
            password=None if keys else password,
            client_keys=keys,
            known_hosts=known,
            # Neither the settings nor the agent nor the keys of whoever started the run.
            config=None,
            agent_path=None,
            gss_host=None,
            connect_timeout=CONNECT_SECONDS,
            login_timeout=CONNECT_SECONDS,
            keepalive_interval=SILENT_SECONDS // 4,
            skip_instance_cache=True,
        )
    except PermissionError:
        raise RefusedError(f"{host} does not let {one.user} in; check key or password.") from None
    except asyncssh.HostKeyNotVerifiable:
        if any(known.match(host, "", port if port != 22 else None)[:2]):
            raise RefusedError(
                f"the server at {host}:{port} shows another host key than the one in known_hosts; "
                "trust nothing from it until the clinic says why."
            ) from None
        raise RefusedError(
            f"known_hosts has no key for {host}:{port}; add the line that ssh-keyscan prints, "
            "once the clinic has confirmed its fingerprint."
        ) from None


def _s3(address: str, access: Access) -> Any:
    s3fs, one = part("s3fs", "s3"), access.credentials
    more: dict[str, Any] = {"region_name": one.region} if one.region else {}
    if one.ca_file:
        more["verify"] = str(one.ca_file)
    if not one.anonymous and not one.user:
        raise RefusedError("the location names no credentials; declare user, or anonymous = true.")
    system = s3fs.S3FileSystem(
        anon=one.anonymous,
        key=one.user,
        secret=access.password(),
        endpoint_url=one.endpoint,
        client_kwargs=more,
        config_kwargs={
            "connect_timeout": CONNECT_SECONDS,
            "read_timeout": SILENT_SECONDS,
            "retries": {"max_attempts": 1},
        },
        use_listings_cache=False,
        skip_instance_cache=True,
    )
    # What is tried again, and how often, is settled in one place: pull/trouble.py.
    system.retries = 1
    return system


def _https(address: str, access: Access) -> Any:
    part("aiohttp", "https")
    from pipeline.pull.web import web

    return web(access, CONNECT_SECONDS, SILENT_SECONDS)


def _smb(address: str, access: Access) -> Any:
    smbclient = part("smbclient", "smb")
    from fsspec.implementations.smb import SMBFileSystem
    from smbprotocol.exceptions import LogonFailure, SMBAuthenticationError

    one, parts = access.credentials, urlsplit(address)
    host, port, password = parts.hostname or "", parts.port or 445, access.password()
    try:
        session = smbclient.register_session(
            host, one.user, password, port=port, connection_timeout=CONNECT_SECONDS
        )
    except (LogonFailure, SMBAuthenticationError):
        raise RefusedError(f"{host} does not let {one.user} in; check user and password.") from None
    except ValueError as error:
        # The driver says so of a connection that could not be made.
        raise ConnectionError(str(error)) from error
    _bound(session.connection)
    return SMBFileSystem(
        host,
        port=port,
        username=one.user,
        password=password,
        # Whoever writes the logs is not to be locked out while they are read.
        share_access="rwd",
        register_session_retries=-1,
        skip_instance_cache=True,
    )


def _bound(connection: Any) -> None:
    """Let no answer be waited for without end, as the driver does where a server stays silent.

    smbprotocol 1.17 has a timeout for each answer, and nothing through which a file system could
    set it. It would ask after ten minutes whether the server is there, and ask no more if it says
    so.
    """
    if "receive" not in vars(connection):
        connection.receive = partial(connection.receive, timeout=SILENT_SECONDS)


_DRIVERS = {"sftp": _sftp, "s3": _s3, "https": _https, "smb": _smb}
