"""Downloads from a server of our own: good, slow, cut short, gone, failing, web pages, offline."""

from __future__ import annotations

import gzip
import socket
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from rain.files import FORMATS
from roofspring.errors import Problem, RecordError, codes
from roofspring.rain import load
from roofspring.rain.download import Fetched, fetch_list, fetch_station, nearest_stations
from roofspring.rain.stations import EARTH_RADIUS_M

STATION = "USC00999901"
BODY = gzip.compress((FORMATS / "ghcn_by_station.csv").read_bytes(), mtime=0)
PAGE = b"<!DOCTYPE html>\n<html><body>Please log in</body></html>"
Answer = Callable[[BaseHTTPRequestHandler], None]


@dataclass
class Server:
    """What the server will answer, one after another, and what it was asked."""

    url: str
    answers: list[Answer] = field(default_factory=list)
    asked: list[tuple[str, dict[str, str]]] = field(default_factory=list)


def answer(
    body: bytes = BODY, *, status: int = 200, short: int = 0, wait_s: float = 0.0, **headers: str
) -> Answer:
    def give(handler: BaseHTTPRequestHandler) -> None:
        time.sleep(wait_s)
        handler.send_response(status)
        for key, value in headers.items():
            handler.send_header(key.replace("_", "-"), value)
        handler.send_header("Content-Length", str(len(body)))
        handler.end_headers()
        handler.wfile.write(body[: len(body) - short])

    return give


def drip(handler: BaseHTTPRequestHandler) -> None:
    """A byte now and then, each soon enough, all of them never."""
    handler.send_response(200)
    handler.end_headers()
    for byte in BODY:
        handler.wfile.write(bytes([byte]))
        handler.wfile.flush()
        time.sleep(0.05)


def no_length(body: bytes) -> Answer:
    """The body ends when the connection does: only its content tells whether it is whole."""

    def give(handler: BaseHTTPRequestHandler) -> None:
        handler.send_response(200)
        handler.end_headers()
        handler.wfile.write(body)

    return give


@pytest.fixture
def server(monkeypatch: pytest.MonkeyPatch) -> Iterator[Server]:
    monkeypatch.setenv("no_proxy", "*")

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            told.asked.append((self.path, dict(self.headers.items())))
            try:
                told.answers.pop(0)(self)
            except (BrokenPipeError, ConnectionResetError):
                self.close_connection = True

        def log_message(self, format: str, *args: Any) -> None:
            """Say nothing."""

    with ThreadingHTTPServer(("127.0.0.1", 0), Handler) as http:
        told = Server(f"http://127.0.0.1:{http.server_port}/ghcn/")
        thread = threading.Thread(target=partial(http.serve_forever, poll_interval=0.02))
        thread.start()
        yield told
        http.shutdown()
        thread.join()


@pytest.fixture
def waits() -> list[float]:
    return []


@pytest.fixture
def fetch(server: Server, tmp_path: Path, waits: list[float]) -> Callable[..., Fetched]:
    def call(**changes: Any) -> Fetched:
        settings: dict[str, Any] = {
            "folder": tmp_path / "downloads", "base_url": server.url, "timeout_s": 2.0,
            "sleep": waits.append,
        }  # fmt: skip
        return fetch_station(**{"station_id": STATION, **settings, **changes})

    return call


def problem(call: Callable[[], object]) -> Problem:
    with pytest.raises(RecordError) as caught:
        call()
    (only,) = caught.value.problems
    assert only.code in codes() and only.next
    return only


def left(tmp_path: Path) -> set[str]:
    return {p.name for p in (tmp_path / "downloads").glob("*")}


def test_a_good_answer_is_kept_and_read(
    fetch: Callable[..., Fetched], server: Server, tmp_path: Path
) -> None:
    server.answers = [answer(ETag='"abc"', Last_Modified="Sat, 29 Feb 2020 00:00:00 GMT")]
    got = fetch()
    assert got.how == "fetched" and got.url.endswith(f"/ghcn/by_station/{STATION}.csv.gz")
    assert server.asked[0][0] == f"/ghcn/by_station/{STATION}.csv.gz"
    assert got.path.read_bytes() == BODY
    assert np.nansum(load(got.path).depth_m) == pytest.approx(0.1016)
    assert left(tmp_path) == {f"{STATION}.csv.gz", f"{STATION}.csv.gz.json"}
    # Young: nobody is asked. Old: asked by tag and date, and not sent again.
    assert fetch().how == "kept" and len(server.asked) == 1
    server.answers = [answer(b"", status=304)]
    assert fetch(max_age_s=0.0).how == "unchanged"
    assert server.asked[1][1]["If-None-Match"] == '"abc"'
    assert server.asked[1][1]["If-Modified-Since"].startswith("Sat, 29 Feb")
    server.answers = [answer(ETag='"def"')]
    assert fetch(max_age_s=0.0).how == "fetched"


def test_a_copy_that_was_tampered_with_is_fetched_again(
    fetch: Callable[..., Fetched], server: Server
) -> None:
    server.answers = [answer(), answer(), answer()]
    path = fetch().path
    path.write_bytes(BODY[:-10])
    assert fetch().how == "fetched" and path.read_bytes() == BODY
    path.with_name(path.name + ".json").write_text("{broken")
    assert fetch().how == "fetched"


@pytest.mark.parametrize("status", [408, 429, 500, 502, 503])
def test_an_error_then_the_file(
    fetch: Callable[..., Fetched], server: Server, waits: list[float], status: int
) -> None:
    server.answers = [answer(b"busy", status=status), answer(b"busy", status=status), answer()]
    assert fetch().how == "fetched" and waits == [1.0, 2.0]


def test_the_wait_that_the_server_asks_for(
    fetch: Callable[..., Fetched], server: Server, waits: list[float]
) -> None:
    busy = partial(answer, b"", status=503)
    server.answers = [busy(Retry_After="7"), busy(Retry_After="9999"), answer()]
    assert fetch().how == "fetched" and waits == [7.0, 60.0]


def test_errors_that_stay(
    fetch: Callable[..., Fetched], server: Server, waits: list[float], tmp_path: Path
) -> None:
    server.answers = [answer(b"", status=500)] * 4
    told = problem(fetch)
    assert told.code == "REC-052" and told.got == "status 500, 4 tries"
    assert waits == [1.0, 2.0, 4.0] and left(tmp_path) == set()


@pytest.mark.parametrize(("status", "code"), [(404, "REC-051"), (410, "REC-051"), (403, "REC-052")])
def test_refusals_are_not_asked_again(
    fetch: Callable[..., Fetched], server: Server, waits: list[float], status: int, code: str
) -> None:
    server.answers = [answer(PAGE, status=status)]
    assert problem(fetch).code == code
    assert len(server.asked) == 1 and waits == []


def test_a_slow_server(fetch: Callable[..., Fetched], server: Server, waits: list[float]) -> None:
    server.answers = [answer(wait_s=0.6)] * 2
    told = problem(partial(fetch, timeout_s=0.1, retries=1))
    assert told.code == "REC-050" and "0.1 s" in told.got and waits == [1.0]
    server.answers = [answer(wait_s=0.6), answer()]
    assert fetch(timeout_s=0.3, retries=1).how == "fetched"


def test_a_server_that_drips(fetch: Callable[..., Fetched], server: Server) -> None:
    # Each byte comes in time; the whole try may take 20 times as long as one wait.
    server.answers = [drip]
    began = time.monotonic()
    assert problem(partial(fetch, timeout_s=0.1, retries=0)).code == "REC-050"
    assert time.monotonic() - began < 2.0 + 0.1 + 2.0


def test_an_answer_that_breaks_off(
    fetch: Callable[..., Fetched], server: Server, waits: list[float], tmp_path: Path
) -> None:
    server.answers = [answer(short=30), answer()]
    assert fetch().path.read_bytes() == BODY and waits == [1.0]
    (tmp_path / "downloads" / f"{STATION}.csv.gz.json").unlink()
    server.answers = [answer(short=30)] * 2
    assert problem(partial(fetch, retries=1)).code == "REC-053"
    # The earlier file stays as it was.
    assert (tmp_path / "downloads" / f"{STATION}.csv.gz").read_bytes() == BODY
    assert not [n for n in left(tmp_path) if n.endswith(".part")]


@pytest.mark.parametrize(
    "body",
    [
        PAGE,
        gzip.compress(PAGE),
        BODY[:-20],
        b"",
        gzip.compress(b"date,rain_mm\n2020-01-01,1\n"),
        gzip.compress(b"USC00999902,20200101,PRCP,1,,,0,\n"),
        gzip.compress(b"USC00999901,20200101,PRCP,1,,,0,\nUSC00999901,2020"),
    ],
    ids=["page", "packed page", "cut", "nothing", "other form", "other station", "last line"],
)
def test_what_is_not_the_file_is_not_kept(
    fetch: Callable[..., Fetched], server: Server, tmp_path: Path, body: bytes
) -> None:
    server.answers = [no_length(body)]
    told = problem(fetch)
    assert told.code == "REC-053" and left(tmp_path) == set()


def test_too_much(
    fetch: Callable[..., Fetched], server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("roofspring.rain.download.MAX_BYTES", 100)
    server.answers = [answer()]
    assert problem(fetch).code == "REC-053"


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def test_offline(
    fetch: Callable[..., Fetched], server: Server, waits: list[float], tmp_path: Path
) -> None:
    nobody = f"http://127.0.0.1:{free_port()}/"
    told = problem(partial(fetch, base_url=nobody))
    assert told.code == "REC-050" and "4 tries" in told.got and waits == [1.0, 2.0, 4.0]
    assert "another computer" in told.next
    name = problem(partial(fetch, base_url="http://no-such-host.invalid/", retries=0))
    assert name.code == "REC-050"
    # With an old copy the work goes on, and a finding says so.
    server.answers = [answer()]
    fetch()
    server.answers = [answer(b"", status=503)]
    old = fetch(max_age_s=0.0, retries=0)
    assert old.how == "old" and [f.code for f in old.findings] == ["REC-143"]
    assert old.path.read_bytes() == BODY


@pytest.mark.parametrize(
    "changes",
    [
        {"station_id": "../../etc/x"},
        {"station_id": "usc00999901"},
        {"base_url": "file:///etc/"},
        {"base_url": "ftp://example.org/"},
        {"timeout_s": 0.0},
        {"timeout_s": float("nan")},
        {"retries": 11},
        {"retries": -1},
    ],
    ids=str,
)
def test_requests_that_cannot_be_made(
    fetch: Callable[..., Fetched], server: Server, changes: dict[str, Any]
) -> None:
    assert problem(partial(fetch, **changes)).code == "REC-054"
    assert server.asked == []


def test_a_folder_that_cannot_be_written_in(
    fetch: Callable[..., Fetched], server: Server, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("not a folder")
    server.answers = [answer()]
    assert problem(partial(fetch, folder=tmp_path / "file" / "x")).code == "REC-055"


# Stations. Columns as in the readme of GHCN-Daily, sections IV and VII (MENNE_2012).


def station_line(name: str, lat: float, lon: float, height: float, text: str) -> str:
    return f"{name:11} {lat:8.4f} {lon:9.4f} {height:6.1f}    {text:30}".ljust(85)


def inventory_line(name: str, element: str, first: int, last: int) -> str:
    return f"{name:11} {0:8.4f} {0:9.4f} {element} {first:4d} {last:4d}"


PLACES = [
    ("USC00000001", 45.0, -110.0, 1500.0, "HERE"),
    ("USC00000002", 46.0, -110.0, -999.9, "ONE DEGREE NORTH"),
    ("USC00000003", 45.0, -111.0, 1600.0, "ONE DEGREE WEST"),
    ("USC00000004", 45.1, -110.0, 1500.0, "FEW YEARS"),
    ("USC00000005", 45.2, -110.0, 1500.0, "NO RAIN"),
    ("NZ000000006", -45.0, 70.0, 10.0, "OTHER SIDE"),
]


@pytest.fixture
def lists(tmp_path: Path) -> Callable[[str], Path]:
    text = {
        "ghcnd-stations.txt": "".join(station_line(*p) + "\n" for p in PLACES),
        "ghcnd-inventory.txt": "".join(
            inventory_line(p[0], "TMAX", 1900, 2020) + "\n"
            + (inventory_line(p[0], "PRCP", 2011 if p[4] != "FEW YEARS" else 2018, 2020) + "\n"
               if p[4] != "NO RAIN" else "")
            for p in PLACES
        ),
    }  # fmt: skip
    for name, content in text.items():
        (tmp_path / name).write_text(content)
    return lambda name: tmp_path / name


def test_nearest_stations(lists: Callable[[str], Path]) -> None:
    near = nearest_stations(45.0, -110.0, count=3, fetch=lists)
    assert [s.name for s in near] == ["HERE", "ONE DEGREE WEST", "ONE DEGREE NORTH"]
    assert near[0].distance_m == 0.0 and near[0].elevation_m == 1500.0
    assert near[2].elevation_m is None and (near[2].first_year, near[2].last_year) == (2011, 2020)
    # One degree along a meridian is R pi/180; the antipode lies at R pi.
    assert near[2].distance_m == pytest.approx(EARTH_RADIUS_M * np.pi / 180.0, rel=1e-12)
    far = nearest_stations(45.0, -110.0, count=9, fetch=lists)
    assert len(far) == 4
    assert far[-1].distance_m == pytest.approx(EARTH_RADIUS_M * np.pi, rel=1e-9)
    # Spherical law of cosines, for one degree of longitude at 45 degrees.
    cosine = 0.5 + 0.5 * np.cos(np.radians(1.0))
    assert near[1].distance_m == pytest.approx(EARTH_RADIUS_M * np.arccos(cosine), rel=1e-6)
    few = nearest_stations(45.0, -110.0, fetch=lists, least_years=1)
    assert "FEW YEARS" in [s.name for s in few]
    assert nearest_stations(0.0, 0.0, fetch=lists, least_years=50) == ()


@pytest.mark.parametrize(
    "place", [(91.0, 0.0), (-91.0, 0.0), (0.0, 181.0), (float("nan"), 0.0)], ids=str
)
def test_places_that_are_none(lists: Callable[[str], Path], place: tuple[float, float]) -> None:
    assert problem(partial(nearest_stations, *place, fetch=lists)).code == "REC-054"


def test_lists_that_are_broken(lists: Callable[[str], Path]) -> None:
    path = lists("ghcnd-stations.txt")
    path.write_text(path.read_text().replace("46.0000", "46.x000"))
    told = problem(partial(nearest_stations, 45.0, -110.0, fetch=lists))
    assert (told.code, told.line) == ("REC-056", 2)
    path = lists("ghcnd-inventory.txt")
    path.write_text(path.read_text().replace("PRCP 2011 2020", "PRCP 2011 20", 1))
    assert problem(partial(nearest_stations, 45.0, -110.0, fetch=lists)).code == "REC-056"


def test_the_lists_are_fetched_once(
    server: Server, lists: Callable[[str], Path], tmp_path: Path
) -> None:
    bodies = [lists(n).read_bytes() for n in ("ghcnd-inventory.txt", "ghcnd-stations.txt")]
    server.answers = [answer(b) for b in bodies]
    get = partial(fetch_list, folder=tmp_path / "downloads", base_url=server.url)
    for _ in range(2):
        assert (
            nearest_stations(45.0, -110.0, count=1, fetch=lambda n: get(n).path)[0].name == "HERE"
        )
    assert [path for path, _ in server.asked] == [
        "/ghcn/ghcnd-inventory.txt",
        "/ghcn/ghcnd-stations.txt",
    ]
    assert problem(lambda: get("readme.txt")).code == "REC-054"
    server.answers = [answer(PAGE)]
    assert problem(lambda: get("ghcnd-stations.txt", max_age_s=0.0)).code == "REC-053"
