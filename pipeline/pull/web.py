"""Web servers: links on an index page, and what the head of a file says of it. Only HTTPS."""

import asyncio
import ssl
from email.utils import parsedate_to_datetime
from typing import Any

import aiohttp
from fsspec.asyn import sync
from fsspec.implementations.http import HTTPFileSystem

from pipeline.pull.access import Access
from pipeline.pull.trouble import RefusedError, check_size

_HEADS_AT_ONCE = 8
_CHUNK = 1024 * 1024


class WebFileSystem(HTTPFileSystem):
    """fsspec's, which takes any answer for an index page and every trouble for a missing file.

    It reads on for as long as the server sends, too; no more than `most_bytes` are taken here.
    """

    most_bytes: int

    def infos(self, names: list[str]) -> list[dict[str, Any]]:
        """Size and time of change of each file, where the server tells them; in their order."""
        found: list[dict[str, Any]] = []
        for start in range(0, len(names), _HEADS_AT_ONCE):
            found += sync(self.loop, self._heads, names[start : start + _HEADS_AT_ONCE])
        return found

    async def _heads(self, names: list[str]) -> list[dict[str, Any]]:
        return list(await asyncio.gather(*map(self._head, names)))

    async def _head(self, url: str) -> dict[str, Any]:
        session = await self.set_session()
        async with session.head(
            self.encode_url(url), allow_redirects=True, **self.kwargs
        ) as answer:
            # Some servers answer no HEAD; the content of the file then tells whether it is new.
            told = {} if answer.status in (405, 501) else answer.headers
            if told is answer.headers:
                self._raise_not_found_for_status(answer, url)
        size, changed = told.get("Content-Length", ""), told.get("Last-Modified")
        return {
            "name": url,
            "type": "file",
            "size": int(size) if size.isdigit() else None,
            "mtime": _instant(changed) if changed else None,
        }

    async def _cat_file(self, url: str, *_: Any, **more: Any) -> bytes:
        session, content = await self.set_session(), bytearray()
        async with session.get(self.encode_url(url), **self.kwargs, **more) as answer:
            self._raise_not_found_for_status(answer, url)
            async for chunk in answer.content.iter_chunked(_CHUNK):
                content += chunk
                check_size(len(content), self.most_bytes)
        return bytes(content)

    def _raise_not_found_for_status(self, response: Any, url: str) -> None:
        if response.url.origin() != self.encode_url(url).origin():
            raise RefusedError(
                f"{url} sends on to another server, {response.url.host}; write that address, "
                "if it is the clinic's."
            )
        if response.status in (401, 403):
            raise PermissionError(f"{response.status} {response.reason} at {url}")
        if response.status >= 500 or response.status == 429:
            raise ConnectionError(f"{response.status} {response.reason} at {url}")
        super()._raise_not_found_for_status(response, url)


def web(access: Access, connect_seconds: int, silent_seconds: int) -> WebFileSystem:
    """A web server's files; certificates are always checked."""
    one, password = access.credentials, access.password()
    client: dict[str, Any] = {
        "timeout": aiohttp.ClientTimeout(
            total=None, sock_connect=connect_seconds, sock_read=silent_seconds
        ),
        # A compressed answer has a length of its own, and could not be told from a cut one.
        "headers": {"Accept-Encoding": "identity"},
    }
    if one.user and password:
        client["headers"]["Authorization"] = aiohttp.encode_basic_auth(one.user, password)
    context = ssl.create_default_context()
    if one.ca_file:
        context.load_verify_locations(cadata=access.text("ca_file"))
    system = WebFileSystem(client_kwargs=client, ssl=context, skip_instance_cache=True)
    system.most_bytes = access.most_bytes
    return system


def _instant(text: str) -> Any:
    try:
        return parsedate_to_datetime(text)
    except ValueError:
        return None
