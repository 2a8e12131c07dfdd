"""The doors let in who has a signed address, for as long as it says, and nobody else."""

import io
import time
from pathlib import Path
from typing import Any

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from board.repro import grants, store
from board.repro.originals import asked_range, disposition
from board.repro.signing import rounded_expiry, sign, verify
from board.repro.tiles import TileIndex, tile
from tests.repro.pictures import put
from tests.repro.serving import Server, serving

SECRET = b"s" * 32


def get(server: Server, path: str, **headers: str) -> httpx.Response:
    named = {name.replace("_", "-"): value for name, value in headers.items()}
    return server.http.get(path, headers=named)


# ----------------------------------------------------------------------- signatures


def test_a_signature_opens_its_own_triple_and_no_other() -> None:
    good = sign("key", 1000, "ann", SECRET)
    told: dict[str, Any] = {
        "key": "key",
        "expires": 1000,
        "scope": "ann",
        "secret": SECRET,
    }
    assert verify(**told, signature=good, now=999.9)
    assert not verify(**told, signature=good, now=1000)
    for changed in (
        {"key": "kez"},
        {"expires": 1001},
        {"scope": "bob"},
        {"secret": b"t" * 32},
    ):
        assert not verify(**{**told, **changed}, signature=good, now=1)
    assert not verify(**told, signature=good[:-1], now=1)
    assert not verify(**told, signature="é" * 24, now=1)


@given(
    st.tuples(st.text(), st.integers(0, 10**10), st.text()),
    st.tuples(st.text(), st.integers(0, 10**10), st.text()),
)
def test_no_two_triples_share_a_signature(
    one: tuple[str, int, str], other: tuple[str, int, str]
) -> None:
    if one != other:
        assert sign(*one, SECRET) != sign(*other, SECRET)


@given(now=st.floats(1e9, 3e9))
def test_an_address_is_steady_for_half_its_life_and_never_outlives_it(
    now: float,
) -> None:
    expires = rounded_expiry(now, 600)
    assert expires - now + 1 > 300
    assert expires - now <= 600
    assert rounded_expiry(expires - 600, 600) == rounded_expiry(expires - 301, 600)


# ------------------------------------------------------------------------- pictures


def test_a_tile_is_served_as_it_is_stored(server: Server, laid_key: str) -> None:
    folder = store.picture_folder(laid_key)
    index = TileIndex.load(folder / "laid.index")
    address = grants.grant_tiles(laid_key, "book~ann")
    with (folder / "laid.tif").open("rb") as file:
        for level, grid in enumerate(index.levels):
            for row in range(grid.rows):
                for column in range(grid.columns):
                    came = get(server, f"{address}/{level}/{column}_{row}.jpg")
                    assert came.status_code == 200
                    stored = tile(file.fileno(), index, level, column=column, row=row)
                    assert came.content == stored
    assert came.headers["content-type"] == "image/jpeg"
    assert came.headers["x-content-type-options"] == "nosniff"
    assert came.headers["cross-origin-resource-policy"] == "same-origin"
    assert came.headers["cache-control"] == "private, max-age=600, immutable"
    last = int(address.split("/")[2]) - 1
    assert came.headers["x-accel-expires"] == f"@{last}"
    assert Image.open(io.BytesIO(came.content)).size == (512, 512)


def test_a_tile_answers_head_and_its_tag(server: Server, laid_key: str) -> None:
    url = grants.grant_tiles(laid_key, "a") + "/0/0_0.jpg"
    full, head = server.http.get(url), server.http.head(url)
    assert head.content == b""
    assert head.headers["content-length"] == str(len(full.content))
    tag = full.headers["etag"]
    for asked in (tag, f'"x", W/{tag}', "*"):
        again = server.http.get(url, headers={"if-none-match": asked})
        assert (again.status_code, again.content) == (304, b"")
    assert server.http.get(url, headers={"if-none-match": '"x"'}).status_code == 200
    assert server.http.post(url).status_code == 405


@pytest.mark.parametrize("name", ["laid.tif", "laid.index", "working.png"])
def test_what_is_kept_beside_the_previews_is_not_for_looking_at(
    server: Server, laid_key: str, name: str
) -> None:
    assert (store.picture_folder(laid_key) / name).exists()
    there = get(server, f"{grants.grant_tiles(laid_key, 'a')}/{name}")
    assert there.status_code == 404


@pytest.mark.parametrize("name", ["small.webp", "medium.webp", "medium.jpg"])
def test_previews_come_through_the_same_door(
    server: Server, laid_key: str, name: str
) -> None:
    came = get(server, f"{grants.grant_tiles(laid_key, 'a')}/{name}")
    assert came.content == (store.picture_folder(laid_key) / name).read_bytes()
    kind = {".jpg": "image/jpeg", ".webp": "image/webp"}[Path(name).suffix]
    assert came.headers["content-type"] == kind


def test_a_picture_laid_before_stills_were_webp_shows_its_jpeg(server: Server) -> None:
    folder = store.picture_folder("laid-long-ago")
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "small.jpg").write_bytes(b"a JPEG")
    came = get(server, f"{grants.grant_tiles('laid-long-ago', 'a')}/small.webp")
    assert came.content == b"a JPEG"
    assert came.headers["content-type"] == "image/jpeg"


def test_a_wrong_or_past_signature_is_turned_away(
    server: Server, laid_key: str
) -> None:
    now = time.time()
    good = grants.grant_tiles(laid_key, "ann")
    _, _, expires, scope, signature, key = good.split("/")
    assert get(server, f"{good}/0/0_0.jpg").status_code == 200
    other = "B" if signature[0] == "A" else "A"
    wrong = [
        f"/t/{expires}/bob/{signature}/{key}",
        f"/t/{int(expires) + 1}/{scope}/{signature}/{key}",
        f"/t/{expires}/{scope}/{other}{signature[1:]}/{key}",
        f"/t/{expires}/{scope}/{signature}/{key}x",
        f"/t/nonsense/{scope}/{signature}/{key}",
        f"/t/{'9' * 30}/{scope}/{signature}/{key}",
        grants.grant_tiles(laid_key, "ann", now=now - 601),
        grants.grant_tiles(laid_key, "ann", now=now + 3600),  # too far ahead
    ]
    for address in wrong:
        came = get(server, f"{address}/0/0_0.jpg")
        assert came.status_code == 403, address
        assert came.headers["cache-control"] == "no-store"


def test_a_signature_for_one_door_opens_no_other(
    server: Server, laid_key: str, folder: Path
) -> None:
    _, _, expires, scope, signature, key = grants.grant_tiles(laid_key, "a").split("/")
    assert get(server, f"/o/{expires}/{scope}/{signature}/{key}/x").status_code == 403
    ticket = f"/u/{key}?ticket={expires}.{signature}.{scope}"
    assert get(server, ticket, tus_resumable="1.0.0").status_code == 405
    head = server.http.head(ticket, headers={"tus-resumable": "1.0.0"})
    assert head.status_code == 403


@pytest.mark.parametrize(
    "rest",
    [
        "0/1_0.jpg", "9/0_0.jpg", "0/-1_0.jpg", "0/0_0.png", "x/0_0.jpg", "0/0.jpg",
        "0/00000000_0.jpg", "secret.txt", "laid.tif.bak", "%2e%2e", "0/%0d%0aX:1_0.jpg",
        "..%2f..%2fsecret.txt", "0/0_0.jpg/more", ".tmp-x.jpg", "0/٣_0.jpg",
    ],
)  # fmt: skip
def test_what_is_not_there_is_not_found(
    server: Server, laid_key: str, rest: str
) -> None:
    came = get(server, f"{grants.grant_tiles(laid_key, 'a')}/{rest}", if_none_match="*")
    assert came.status_code == 404
    unknown = grants.grant_tiles("no-such-picture", "a")
    assert get(server, f"{unknown}/0/0_0.jpg").status_code == 404


def test_a_scope_that_would_break_an_address_is_refused() -> None:
    with pytest.raises(ValueError, match="not a scope"):
        grants.grant_tiles("key-of-it", "a/b")


# ------------------------------------------------------------------------ originals

BODY = bytes(range(256)) * 12_000  # three megabytes: more than one piece


@pytest.fixture
def original(folder: Path, tmp_path: Path) -> str:
    _path, sha256 = store.copy_original(put(tmp_path, "a.bin", BODY))
    return sha256


def test_an_original_comes_back_byte_for_byte_under_its_name(
    server: Server, original: str
) -> None:
    came = get(server, grants.grant_original(original, "Seite é ß 4.tif", "a"))
    assert came.content == BODY
    told = came.headers["content-disposition"]
    assert told.startswith('attachment; filename="Seite _ _ 4.tif"; ')
    assert "filename*=UTF-8''Seite%20%C3%A9%20%C3%9F%204.tif" in told
    assert came.headers["content-type"] == "application/octet-stream"
    assert came.headers["etag"] == f'"{original}"'
    assert "sandbox" in came.headers["content-security-policy"]


@pytest.mark.parametrize(
    ("asked", "begin", "end"),
    [("bytes=0-0", 0, 1), ("bytes=100-1999999", 100, 2_000_000),
     ("bytes=3071000-", 3_071_000, None), ("bytes=-5", len(BODY) - 5, None),
     ("bytes=3000000-9999999", 3_000_000, None), ("bytes=-99999999", 0, None)],
)  # fmt: skip
def test_one_range_is_answered_with_that_part(
    server: Server, original: str, asked: str, begin: int, end: int | None
) -> None:
    """RFC 9110 section 14.1.2, byte ranges."""
    came = get(server, grants.grant_original(original, "a.tif", "a"), range=asked)
    assert came.status_code == 206
    assert came.content == BODY[begin:end]
    last = (end or len(BODY)) - 1
    assert came.headers["content-range"] == f"bytes {begin}-{last}/{len(BODY)}"


@pytest.mark.parametrize(
    "asked", ["bytes=0-1,5-6", "lines=1-2", "bytes=5-2", "bytes=-"]
)
def test_a_range_it_cannot_read_is_left_out_of_account(
    server: Server, original: str, asked: str
) -> None:
    came = get(server, grants.grant_original(original, "a.tif", "a"), range=asked)
    assert (came.status_code, len(came.content)) == (200, len(BODY))


def test_a_range_beyond_the_end_is_416(server: Server, original: str) -> None:
    address = grants.grant_original(original, "a.tif", "a")
    for asked in (f"bytes={len(BODY)}-", "bytes=-0"):
        came = get(server, address, range=asked)
        assert came.status_code == 416
        assert came.headers["content-range"] == f"bytes */{len(BODY)}"


def test_a_range_of_another_version_gives_the_whole_file(
    server: Server, original: str
) -> None:
    address = grants.grant_original(original, "a.tif", "a")
    part = get(server, address, range="bytes=0-9", if_range=f'"{original}"')
    whole = get(server, address, range="bytes=0-9", if_range='"other"')
    assert (part.status_code, whole.status_code) == (206, 200)


def test_an_original_is_named_in_its_signature(server: Server, original: str) -> None:
    address = grants.grant_original(original, "a.tif", "a")
    assert get(server, address.replace("a.tif", "b.html")).status_code == 403
    gone = grants.grant_original("0" * 64, "a.tif", "a")
    assert get(server, gone).status_code == 404
    assert get(server, address + "/more").status_code == 403
    assert server.http.head(address).headers["content-length"] == str(len(BODY))


@pytest.mark.parametrize(
    ("name", "kept"),
    [("../../etc/passwd", "passwd"), ("C:\\art\\sk1.tif", "sk1.tif"),
     ("a\r\nSet-Cookie: x", "aSet-Cookie: x"), ("", "picture"), ("..", "picture")],
)  # fmt: skip
def test_a_name_cannot_lead_out_or_break_a_header(name: str, kept: str) -> None:
    """OWASP ASVS 5.0.0 requirement 5.4.1."""
    assert grants.plain_name(name) == kept
    assert "\n" not in disposition(grants.plain_name(name))


def test_quotes_and_signs_in_a_name_are_written_as_rfc_6266_asks() -> None:
    told = disposition('a"b;c%.tif')
    assert (
        told == "attachment; filename=\"a_b_c_.tif\"; filename*=UTF-8''a%22b%3Bc%25.tif"
    )


@given(st.text(max_size=30), st.integers(1, 10**9))
def test_any_range_header_gives_a_part_of_the_file_or_all(
    asked: str, size: int
) -> None:
    try:
        part = asked_range(asked, size)
    except ValueError:
        return
    assert part is None or 0 <= part[0] < part[1] <= size


def test_a_server_in_front_may_send_originals_itself(
    folder: Path, original: str
) -> None:
    with serving(folder, BOARD_ACCEL="/inner") as server:
        came = get(server, grants.grant_original(original, "a.tif", "a"))
    inner = f"/inner/originals/{original[:2]}/{original}"
    assert came.headers["x-accel-redirect"] == inner
    assert came.headers["content-disposition"] == 'attachment; filename="a.tif"'
