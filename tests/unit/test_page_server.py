"""The page's server: for this machine, for its own page, and for nobody else."""

import http.client
import json
import socket
from urllib.parse import urlsplit

import pytest
from page_bench import DISC, ROW

from posy.compiler.page.serving import LONGEST, PageServer
from posy.compiler.page.tray import Tray
from posy.compiler.page.viewer import Viewer
from posy.compiler.terminal.forms import Arguments
from posy.compiler.terminal.reports import Job
from posy.compiler.terminal.worker import TRIAL, Worker, fresh_sessions


@pytest.fixture(scope="module")
def served(tmp_path_factory):
    folder = tmp_path_factory.mktemp("tray")
    (folder / "row.posy").write_text(ROW, encoding="utf-8")
    (folder / "disc.posy").write_text("\ufeff" + DISC, encoding="utf-8")
    (folder / "words.posy").write_text("word bud\n  ball head: across 1 mm\n", encoding="utf-8")
    (folder / "secret.txt").write_text("not for anybody", encoding="utf-8")
    tray = Tray(folder, "row")
    tray.show("row", str(folder / "row.posy"))
    server = PageServer(tray)
    yield server, tray
    server.close()


def _ask(served, path, method="GET", key=None, host=None, body=None, **headers):
    where = urlsplit(served[0].address)
    link = http.client.HTTPConnection("127.0.0.1", where.port, timeout=10)
    own = where.path.strip("/") if key is None else key
    link.putrequest(method, f"/{own}/{path}", skip_host=True)
    link.putheader("Host", host or where.netloc)
    for name, value in headers.items():
        link.putheader(name.replace("_", "-"), value)
    data = b"" if body is None else body if isinstance(body, bytes) else json.dumps(body).encode()
    if body is not None:
        link.putheader("Content-Length", str(len(data)))
    link.endheaders(data)
    answer = link.getresponse()
    said = answer.read() if answer.getheader("Content-Type") != "text/event-stream" else b""
    link.close()
    return answer, said


def _own(served):
    return f"http://{urlsplit(served[0].address).netloc}"


def test_it_listens_on_this_machine_alone(served):
    assert urlsplit(served[0].address).hostname == "127.0.0.1"
    port = urlsplit(served[0].address).port
    others = {one[4][0] for one in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)} - {"127.0.0.1", "127.0.1.1"}
    for other in others:
        with socket.socket() as link:
            link.settimeout(2)
            assert link.connect_ex((other, port)) != 0


def test_the_page_comes_with_a_policy_that_lets_nothing_in(served):
    answer, said = _ask(served, "")
    assert answer.status == 200 and b"<canvas" in said
    policy = answer.getheader("Content-Security-Policy")
    assert "default-src 'none'" in policy and "unsafe" not in policy and "http" not in policy
    assert answer.getheader("Cache-Control") == "no-store"
    assert answer.getheader("X-Frame-Options") == "DENY"


@pytest.mark.parametrize("host", ["posy.example", "127.0.0.1", "localhost", "127.0.0.1:1", "evil.example:80"])
def test_a_foreign_host_is_refused(served, host):
    """A name that was made to point here would come with its own Host (DNS rebinding)."""
    assert _ask(served, "", host=host)[0].status == 403


def test_localhost_is_this_host(served):
    port = urlsplit(served[0].address).port
    assert _ask(served, "", host=f"localhost:{port}")[0].status == 200


@pytest.mark.parametrize("origin", ["https://evil.example", "null", "http://127.0.0.1:1", "http://127.0.0.1"])
def test_a_foreign_origin_is_refused(served, origin):
    assert _ask(served, "pieces", Origin=origin)[0].status == 403
    posted = _ask(served, "try/row", "POST", body={"figures": {}}, Origin=origin, Content_Type="application/json")
    assert posted[0].status == 403


def test_another_site_is_refused_even_without_an_origin(served):
    assert _ask(served, "pieces", Sec_Fetch_Site="cross-site")[0].status == 403
    assert _ask(served, "try/row", "POST", body={"figures": {}}, Content_Type="application/json")[0].status == 403


@pytest.mark.parametrize("key", ["", "x", "wrong-wrong-wrong-wrong", "%00", "%C3%A9"])
def test_a_wrong_key_is_refused(served, key):
    answer, said = _ask(served, "", key=key)
    assert answer.status == 404
    assert b"canvas" not in said


@pytest.mark.parametrize(
    "path",
    ["../secret.txt", "..%2fsecret.txt", "%2e%2e/secret.txt", "secret.txt", "solid/..%2f..%2fetc%2fpasswd/1", "news/..%5csecret",
     "solid/../row/1", "page.css/../../x", "news/secret", "news/words", "solid/%00/1", "row.posy"],
)  # fmt: skip
def test_nothing_else_can_be_reached(served, path):
    answer, said = _ask(served, path)
    assert answer.status == 404
    assert b"not for anybody" not in said and b"root:" not in said


def test_pieces_are_named_and_files_of_words_are_not(served):
    assert json.loads(_ask(served, "pieces")[1]) == {"pieces": ["row", "disc"]}


@pytest.mark.parametrize(
    "body", [b"", b"{", b"[]", b'{"figures": 3}', b'{"figures": {"across": 3}}', b'{"figures": {"": "x"}}', b"x" * (LONGEST + 1)]
)
def test_what_makes_no_sense_is_refused(served, body):
    answer, _ = _ask(served, "try/row", "POST", body=body, Origin=_own(served), Content_Type="application/json")
    assert answer.status == 400


def test_a_form_of_another_page_cannot_post(served):
    """Browsers let any page send plain text without asking; JSON they ask about first."""
    answer, _ = _ask(served, "try/row", "POST", body={"figures": {}}, Origin=_own(served), Content_Type="text/plain")
    assert answer.status == 400


def test_what_is_tried_reaches_the_bench(served):
    answer, _ = _ask(
        served, "try/row", "POST", body={"figures": {"across": "2.8 mm"}}, Origin=_own(served), Content_Type="application/json"
    )
    assert answer.status == 200
    (request,) = served[1].requests()
    assert (request.piece, request.tried) == ("row", {"across": "2.8 mm"})


def test_other_methods_are_refused(served):
    for method in ("PUT", "DELETE", "OPTIONS", "TRACE"):
        assert _ask(served, "", method)[0].status in (400, 501)


@pytest.mark.parametrize(("free", "wanted"), [(10**6, [True, False, False]), (0, [True])])
def test_a_trial_is_told_rough_first_and_fine_unless_another_comes(tmp_path, free, wanted):
    """The rough piece has no remarks of its own; the fine one is told with them."""
    path = tmp_path / "row.posy"
    path.write_text(ROW, "utf-8")
    words = Arguments(piece=str(path), set=[("across", "2.7 mm")], metal=None, tolerance=None, make=True, strict=False)
    told, waits = [], []

    def go_on(patience):
        waits.append(patience)
        return len(waits) <= free

    Worker(Job(1, words, shows=Viewer(), trial=True), told.append, go_on, fresh_sessions()).work()
    assert [one.rough for one in told] == wanted and waits[0] >= TRIAL
    assert not told[0].faults and told[0].packet and [one.checked for one in told] == [False, False, True][: len(told)]
    if free:
        assert told[2].faults and told[0].weights.grams == pytest.approx(told[1].weights.grams, rel=0.01)
    assert not list(tmp_path.glob("out/*")), "what is only tried is written to no file"
