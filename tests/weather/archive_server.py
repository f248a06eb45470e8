"""A server on this machine that gives real station files in the archive's layout, and can fail in every way."""

from __future__ import annotations

import csv
import gzip
import hashlib
import io
import threading
import time
from contextlib import contextmanager, suppress
from functools import lru_cache
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

FOLDER = Path(__file__).resolve().parents[1] / "stations"
NEAR, OTHER = "USC00208080", "USC00202308"

#: By the columns of ghcnd-stations.txt; the third is invented, with rain alone.
STATION_LIST = (
    f"{NEAR}  42.0036  -83.9444  250.9 MI TECUMSEH                                    \n"
    f"{OTHER}  41.9614  -83.6792  205.7 MI DUNDEE                                      \n"
    "ZZC00000001  42.0100  -83.9000  250.0    RAIN ALONE                                   \n"
    "ZZC00000002 -42.0100   83.9000 -999.9    OTHER END                                    \n"
)
INVENTORY = (
    f"{NEAR}  42.0036  -83.9444 TMAX 1994 2026\n"
    f"{NEAR}  42.0036  -83.9444 TMIN 1994 2026\n"
    f"{NEAR}  42.0036  -83.9444 PRCP 1985 2026\n"
    f"{OTHER}  41.9614  -83.6792 TMAX 2001 2022\n"
    f"{OTHER}  41.9614  -83.6792 TMIN 2002 2022\n"
    "ZZC00000001  42.0100  -83.9000 PRCP 1985 2026\n"
    "ZZC00000002 -42.0100   83.9000 TMAX 1985 2026\n"
    "ZZC00000002 -42.0100   83.9000 TMIN 1985 2026\n"
)


@lru_cache(maxsize=None)
def station_rows(identifier: str) -> tuple[tuple[str, str, str, str], ...]:
    """Return a station's values as (day, element, tenths of °C, three flags)."""
    rows = []
    with gzip.open(FOLDER / f"{identifier}.csv.gz", "rt", encoding="utf-8") as file:
        for row in csv.DictReader(file):
            for element in ("TMAX", "TMIN"):
                if row[element].strip():
                    flags = (row[f"{element}_ATTRIBUTES"] + ",,,").split(",")
                    rows.append((row["DATE"].replace("-", ""), element, row[element].strip(), ",".join(flags[:3])))
    return tuple(rows)


@lru_cache(maxsize=None)
def by_station(identifier: str, last: str = "9999") -> bytes:
    """Return a station's file as the archive packs it, with values up to a day."""
    text = "".join(f"{identifier},{day},{element},{value},{flags},0700\n" for day, element, value, flags in
                   station_rows(identifier) if day <= last)  # fmt: skip
    return gzip.compress(text.encode(), mtime=0)


@lru_cache(maxsize=None)
def grid_text(start: str = "20150101", end: str = "20251231") -> bytes:
    """Return invented values in the layout of the grid's service, for both days and those between."""
    from datetime import datetime, timedelta
    from math import cos

    day, last = (datetime.strptime(text, "%Y%m%d").date() for text in (start, end))
    out = io.StringIO()
    out.write("-BEGIN HEADER-\nInvented values in the layout of a service\n")
    out.write("T2M_MAX  Temperature at 2 Meters Maximum (C)\nT2M_MIN  Temperature at 2 Meters Minimum (C)\n")
    out.write("-END HEADER-\nYEAR,MO,DY,T2M_MAX,T2M_MIN\n")
    while day <= last:
        mean = 10 - 13 * cos((day.timetuple().tm_yday - 20) / 58.1) + (day.toordinal() * 7919 % 13 - 6) / 2
        out.write(f"{day.year},{day.month},{day.day},{mean + 6:.2f},{mean - 5:.2f}\n")
        day += timedelta(days=1)
    return out.getvalue().encode()


class Archive:
    """What the server gives by path, how it fails, and the requests that came."""

    def __init__(self) -> None:
        self.files: dict[str, bytes] = {
            "/ghcnd-stations.txt": STATION_LIST.encode(),
            "/ghcnd-inventory.txt": INVENTORY.encode(),
            **{f"/by_station/{one}.csv.gz": by_station(one) for one in (NEAR, OTHER)},
        }
        self.requests: list[tuple[str, dict[str, str], int]] = []
        #: Answers the next requests in place of the file: called with the handler.
        self.faults: list = []
        self.address = ""
        #: How many blocks of an endless answer have gone out.
        self.sent = 0


class _Handler(BaseHTTPRequestHandler):
    archive: Archive
    protocol_version = "HTTP/1.1"

    def log_message(self, *arguments: object) -> None:
        """Keep the tests' output free of the server's."""

    def do_GET(self) -> None:
        path, _, query = self.path.partition("?")
        if path == "/point":
            wanted = dict(part.split("=") for part in query.split("&"))
            content = grid_text(wanted["start"], min(wanted["end"], "20251231"))
        else:
            content = self.archive.files.get(path)
        if self.archive.faults:
            self.archive.faults.pop(0)(self, content)
            return
        if content is None:
            self._send(404, b"not here", {})
            return
        self.give(content)

    def give(self, content: bytes) -> None:
        """Answer as a good server does: conditions and ranges."""
        etag = '"' + hashlib.sha256(content).hexdigest()[:12] + '"'
        if self.headers.get("If-None-Match") == etag:
            self._send(304, b"", {"ETag": etag})
        elif self.headers.get("Range") and self.headers.get("If-Range") == etag:
            start = int(self.headers["Range"].removeprefix("bytes=").rstrip("-"))
            what = {"ETag": etag, "Content-Range": f"bytes {start}-{len(content) - 1}/{len(content)}"}
            self._send(206, content[start:], what)
        else:
            self._send(200, content, {"ETag": etag})

    def _send(self, status: int, content: bytes, headers: dict[str, str], length: int | None = None) -> None:
        self.archive.requests.append((self.path, dict(self.headers), status))
        self.send_response(status)
        for name, value in headers.items():
            self.send_header(name, value)
        if status != 304:
            self.send_header("Content-Length", str(len(content) if length is None else length))
        self.end_headers()
        self.wfile.write(content)
        if length is not None:
            self.close_connection = True


def cut(handler: _Handler, content: bytes) -> None:
    """Break off after half of the bytes."""
    etag = '"' + hashlib.sha256(content).hexdigest()[:12] + '"'
    handler._send(200, content[: len(content) // 2], {"ETag": etag}, length=len(content))


def busy(handler: _Handler, content: bytes) -> None:
    """Say that there is no time now."""
    handler._send(503, b"", {})


def endless(handler: _Handler, content: bytes) -> None:
    """Send without end and without a length."""
    handler.archive.requests.append((handler.path, dict(handler.headers), 200))
    handler.send_response(200)
    handler.send_header("Connection", "close")
    handler.end_headers()
    try:
        for _ in range(4000):
            handler.wfile.write(b"0" * 65536)
    except OSError:
        pass
    handler.close_connection = True


def dripping(handler: _Handler, content: bytes) -> None:
    """Send a byte now and then."""
    handler.send_response(200)
    handler.send_header("Content-Length", str(len(content)))
    handler.end_headers()
    try:
        for index in range(200):
            handler.wfile.write(content[index : index + 1])
            time.sleep(0.05)
    except OSError:
        pass
    handler.close_connection = True


def elsewhere(address: str):
    """Return a fault that sends on to another address."""

    def send_on(handler: _Handler, content: bytes) -> None:
        handler._send(302, b"", {"Location": address})

    return send_on


def elsewhere_without_end(handler: _Handler, content: bytes) -> None:
    """Send on to the same address, with a body that has no end."""
    handler.archive.requests.append((handler.path, dict(handler.headers), 302))
    handler.send_response(302)
    handler.send_header("Location", handler.path)
    handler.send_header("Connection", "close")
    handler.end_headers()
    with suppress(OSError):
        for sent in range(4000):
            handler.wfile.write(b"0" * 65536)
            handler.archive.sent = sent
    handler.close_connection = True


@contextmanager
def running(archive: Archive):
    """Serve an archive while the block runs."""
    handler = type("Handler", (_Handler,), {"archive": archive})
    server = ThreadingHTTPServer(("127.0.0.1", 0), handler)
    server.daemon_threads = True
    archive.address = f"http://127.0.0.1:{server.server_port}"
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    try:
        yield archive
    finally:
        server.shutdown()
        server.server_close()
