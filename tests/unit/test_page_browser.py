"""The live page in a real browser without a screen: Debian's and Ubuntu's package chromium, driven by
playwright. What it measures is held against the mesh it was sent, by numpy and the kernel alone."""

import json
import os
import time

import numpy as np
import pytest
from manifold3d import Manifold, Mesh64
from page_bench import ARGUMENTS, DISC, ROW, browser_path, unpacked, until, watching

from posy.compiler.page.writing import text_mark

playwright = pytest.importorskip("playwright.sync_api") if not os.environ.get("POSY_ALL_OUTSIDE") else __import__(
    "playwright.sync_api", fromlist=["x"]
)
if browser_path() is None and not os.environ.get("POSY_ALL_OUTSIDE"):
    pytest.skip("no Chromium here: apt-get install chromium", allow_module_level=True)

STILL = "Number(document.documentElement.dataset.fine) >= 1 && !posyPage.flight"
MADE = "posyPage.told && posyPage.told.checked && posyPage.have === posyPage.told.solid"


# As it is when one comes to it: whole, seen from the corner, its figures on it.
AT_REST = """() => {
  const by = (id) => document.getElementById(id), on = (id) => by(id).getAttribute('aria-pressed') === 'true';
  for (const [id, wanted] of [['cut', false], ['calliper', false], ['figured', true]]) if (on(id) !== wanted) by(id).click();
  by('view').value = 'corner';
  by('view').dispatchEvent(new Event('change'));
}"""


@pytest.fixture(scope="module")
def chromium():
    with playwright.sync_playwright() as player:
        browser = player.chromium.launch(executable_path=browser_path(), args=ARGUMENTS)
        yield browser
        browser.close()


class Screen:
    """One page with all that it complained of and asked for."""

    def __init__(self, browser, watch, **more):
        self.context = browser.new_context(**{"viewport": {"width": 840, "height": 420}, "reduced_motion": "reduce", **more})
        self.page = self.context.new_page()
        self.complaints, self.asked = [], []
        self.page.on("console", lambda one: self.complaints.append(one.text) if one.type in ("error", "warning") else None)
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", lambda one: self.asked.append(one.url))
        self.page.goto(watch.address)
        until(self.page, MADE)

    def click_on_metal(self, skip=0):
        """Clicks a spot of the picture where metal is; gives the spot in pixels."""
        spots = self.page.evaluate(
            """() => {
              const [w, t] = [document.getElementById('piece').clientWidth, document.getElementById('piece').clientHeight];
              const found = [];
              for (let y = 40; y < t - 60; y += 9) for (let x = 30; x < w - 30; x += 9) {
                const ray = posyPage.look.ray(x, y, w, t), met = posyPage.touch.met(ray.from, ray.way);
                const top = document.elementFromPoint(x, y);
                if (met && top && top.id === 'piece') found.push([x, y]);
              }
              return found;
            }"""
        )
        x, y = spots[(len(spots) // 2 + skip) % len(spots)]
        self.page.locator("#piece").click(position={"x": x, "y": y})
        return x, y


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("bench")
    (folder / "row.posy").write_text(ROW, encoding="utf-8")
    (folder / "disc.posy").write_text(DISC, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def watch(folder):
    with watching(folder) as found:
        yield found


@pytest.fixture(scope="module")
def screen(chromium, watch):
    screen = Screen(chromium, watch)
    yield screen
    assert screen.complaints == []
    own = watch.address.split("/")[2]
    assert {url.split("/")[2] for url in screen.asked if not url.startswith("data:")} == {own}
    screen.context.close()


@pytest.fixture
def page(screen, folder):
    text = folder / "row.posy"
    if text.read_text(encoding="utf-8") != ROW:
        text.write_text(ROW, encoding="utf-8")
    until(screen.page, f"{MADE} && posyPage.told.mark === '{text_mark(ROW)}' && !Object.keys(posyPage.told.tried).length")
    screen.page.evaluate(AT_REST)
    until(screen.page, STILL)
    return screen.page


def _mesh(watch):
    """What the browser was sent: corners of triangles (m, 3, 3), mm."""
    _, arrays = unpacked(watch.get("solid/row/1"))
    return arrays["points"].reshape(-1, 3).astype(float), arrays["corners"].reshape(-1, 3)


def _crossings(points, corners, start, way):
    """How far along a ray it crosses triangles (Moeller and Trumbore 1997), mm."""
    a, b, c = (points[corners[:, k]] for k in range(3))
    one, two = b - a, c - a
    p = np.cross(way, two)
    with np.errstate(divide="ignore", invalid="ignore"):
        det = (one * p).sum(axis=1)
        s = start - a
        u = (s * p).sum(axis=1) / det
        q = np.cross(s, one)
        v = (q @ way) / det
        far = (two * q).sum(axis=1) / det
    return np.sort(far[(u >= 0) & (v >= 0) & (u + v <= 1) & np.isfinite(far)])


# --- what is seen


def test_the_piece_is_drawn_and_told(page):
    assert page.title() == "Quay row · posy"
    assert page.locator("#metalname").inner_text() == "18 karat yellow gold (2N), as cast"
    said = page.evaluate("posyPage.told.weights.grams")
    assert page.locator("#grams").inner_text().replace("\n", "") == f"{said:.2f}g"
    assert "3 stones" in page.locator("#carats").inner_text()
    pixels = _pixels(page)
    red, green, blue = (pixels[..., k] for k in range(3))
    gold = (red > blue + 35) & (green > blue + 15)
    sapphire = blue > red + 40
    assert gold.mean() > 0.02
    assert sapphire.mean() > 0.001


def test_another_metal_is_a_choice_of_the_ticket(page):
    page.locator('input[value="silver-925"]').check()
    silver = page.evaluate("posyPage.told.weights.metals.find((one) => one.name === 'silver-925').grams")
    assert page.locator("#grams").inner_text().replace("\n", "") == f"{silver:.2f}g"
    assert page.locator("#metalname").inner_text() == "Sterling silver, as cast"
    page.locator('input[value="gold-750-yellow"]').check()


def test_a_remark_is_flown_to_and_marked(page):
    told = page.evaluate("posyPage.told.remarks.map((one) => [one.name, one.spot])")
    number, spot = next((k, spot) for k, (name, spot) in enumerate(told) if name == "thin-wall")
    page.locator(".remark").nth(number).click()
    until(page, STILL)
    assert np.allclose(page.evaluate("posyPage.look.at"), spot, atol=1e-6)
    wide, tall = page.evaluate("[document.getElementById('piece').clientWidth, document.getElementById('piece').clientHeight]")
    ring = page.locator("#lines circle.spot.warning").first
    assert abs(float(ring.get_attribute("cx")) - wide / 2) < 1 and abs(float(ring.get_attribute("cy")) - tall / 2) < 1
    assert page.evaluate("posyPage.look.half") < page.evaluate("posyPage.breadth") / 4
    assert page.locator("#text").inner_text().replace("\n", " ").startswith("10 hollow back")


def test_metal_names_its_line(screen, page):
    screen.click_on_metal()
    said = page.locator("#says").inner_text()
    assert ": line " in said
    line = int(said.split(": line ")[1].split()[0])
    assert ROW.splitlines()[line - 1] in said


def test_the_camera_stays_when_the_piece_is_made_again(page, folder):
    page.locator("#piece").focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("+")
    before = page.evaluate("[posyPage.look.turn, posyPage.look.at, posyPage.look.half]")
    have = page.evaluate("posyPage.have")
    (folder / "row.posy").write_text(ROW.replace("2.2 mm, corner", "2.4 mm, corner"), encoding="utf-8")
    until(page, f"posyPage.have > {have}")
    assert page.evaluate("[posyPage.look.turn, posyPage.look.at, posyPage.look.half]") == before
    assert "since the last save" in page.locator("#change").inner_text()
    # the line that was edited lights its metal
    lit = page.evaluate("document.getElementById('text').innerText")
    assert "bar frame" in lit


# --- measures against the mesh


def test_a_section_is_that_of_the_mesh(page, watch):
    page.locator("#cut").click()
    points, corners = _mesh(watch)
    sent = Mesh64(np.array(points), corners.astype(np.uint64), tolerance=1e-5)
    sent.merge()  # a spot on a sharp edge is sent once for each of its sides
    solid = Manifold(sent)
    turns = {0: ((0, 0, -1), (0, 1, 0), (1, 0, 0)), 1: ((1, 0, 0), (0, 0, -1), (0, 1, 0)), 2: np.eye(3)}
    for axis in (0, 1, 2):
        page.locator("#cutway").select_option(str(axis))
        for at in ("0.31", "0.52"):
            page.locator("#cutat").fill(at)
            told = page.evaluate("posyPage.section")
            placed = solid.transform(np.column_stack([np.array(turns[axis], float), (0, 0, 0)]))
            area = placed.slice(told["along"]).area()
            assert abs(area - told["area"]) < 0.01


def test_the_thickness_of_a_cut_face_is_that_of_the_mesh(page, watch):
    """Held against a search of its own: the least of all chords through the spot."""
    page.locator("#cut").click()
    page.locator("#cutway").select_option("0")
    points, corners = _mesh(watch)
    low, high = page.evaluate("[posyPage.box.low[0], posyPage.box.high[0]]")
    page.locator("#cutat").fill(f"{(1.4 - low) / (high - low):.3f}")  # half way between two stones
    along = page.evaluate("posyPage.section.along")
    # a spot in the middle of the roof over the hollow
    start = np.array([along, 0.013, 5.0])  # off the edges of triangles
    levels = 5.0 - _crossings(points, corners, start, np.array([0, 0, -1.0]))
    spot = [along, 0.013, float((levels[0] + levels[1]) / 2)]
    told = page.evaluate(
        """(spot) => {
          posyPage.look.at = spot;
          const [w, t] = [document.getElementById('piece').clientWidth, document.getElementById('piece').clientHeight];
          return posyPage.look.onto(spot, w, t);
        }""", spot)  # fmt: skip
    page.locator("#figured").click()
    page.locator("#piece").click(position={"x": told[0], "y": told[1]})
    found = page.evaluate("posyPage.measured")
    assert found["kind"] == "section"
    ends = np.array(found["spots"])
    assert abs(np.linalg.norm(ends[1] - ends[0]) - found["far"]) < 1e-6
    picked = ends.mean(axis=0)
    far = ends[1] - ends[0]
    assert np.allclose(spot[0], picked[0], atol=1e-3)
    # both ends are on the mesh, and nothing but metal between them
    way = far / np.linalg.norm(far)
    crossings = _crossings(points, corners, picked, way)
    ahead, behind = crossings[crossings > 0].min(), -crossings[crossings < 0].max()
    assert abs(ahead + behind - found["far"]) < 0.01
    best = min(_chord(points, corners, picked, angle) for angle in np.linspace(0, np.pi, 721)[:-1])
    assert found["far"] < best + 0.01


def _chord(points, corners, spot, angle):
    """The stretch of metal through a spot along a direction of the plane x = const."""
    crossings = _crossings(points, corners, spot, np.array([0.0, np.cos(angle), np.sin(angle)]))
    return crossings[crossings > 0].min() - crossings[crossings < 0].max()


def test_callipers_measure_the_mesh(screen, page, watch):
    page.locator("#calliper").click()
    points, corners = _mesh(watch)
    spots = []
    for skip in (0, 31):
        x, y = screen.click_on_metal(skip)
        ray = page.evaluate(
            f"posyPage.look.ray({x}, {y}, document.getElementById('piece').clientWidth, document.getElementById('piece').clientHeight)"
        )
        start, way = np.array(ray["from"]), np.array(ray["way"])
        crossings = _crossings(points, corners, start, way)
        spots.append(start + way * crossings[crossings > 0].min())
        told = page.evaluate("posyPage.measured")
        if skip == 0:
            assert told["kind"] == "thick"
            assert np.allclose(told["spots"][0], spots[0], atol=0.01)
            into = np.subtract(told["spots"][1], told["spots"][0])
            inside = _crossings(points, corners, np.array(told["spots"][0]), into / np.linalg.norm(into))
            assert abs(inside[inside > 1e-3].min() - told["far"]) < 0.01
    assert told["kind"] == "apart"
    assert abs(told["far"] - np.linalg.norm(spots[1] - spots[0])) < 0.01
    page.locator("#calliper").click()
    page.locator("#piece").focus()
    page.keyboard.press("Escape")


# --- figures


def test_a_dragged_figure_remakes_the_piece_and_is_written_when_asked(page, folder):
    text = folder / "row.posy"
    grip = page.locator('#grips .grip[data-measure="across"][data-end="1"]').first
    grip.wait_for()
    box = grip.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    pull = page.evaluate("(() => { const p = posyPage; return p.solid.figures.find((o) => o.name === 'across').stretches[0]; })()")
    ends = page.evaluate(
        "(s) => [s.from, s.to].map((one) => posyPage.look.onto(one, document.getElementById('piece').clientWidth, document.getElementById('piece').clientHeight))", pull
    )
    way = np.subtract(ends[1][:2], ends[0][:2])
    grown = page.evaluate("posyPage.told.weights.grams")
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + way[0] * 0.12, y + way[1] * 0.12, steps=4)
    page.mouse.up()
    until(page, "posyPage.told.tried.across && posyPage.told.checked && !posyPage.wanted && !posyPage.waiting")
    tried = page.evaluate("posyPage.told.tried.across")
    assert 2.6 <= float(tried.split()[0]) <= 3.0
    assert text.read_text(encoding="utf-8") == ROW, "nothing is written before it is asked for"
    assert page.evaluate("posyPage.told.weights.grams") > grown
    assert "Tried" in page.locator("#tried").inner_text()
    page.get_by_role("button", name="Write it into the text").click()
    until(page, f"{MADE} && !posyPage.told.tried.across")
    assert text.read_text(encoding="utf-8") == ROW.replace("across = 2.5 mm", f"across = {tried}")


def test_a_typed_figure_keeps_to_its_range_and_can_be_put_back(page, folder):
    box = page.locator('input[data-measure="across"]')
    box.fill("9")
    box.press("Enter")
    until(page, "posyPage.told.tried.across === '3.5 mm' && posyPage.told.checked")
    page.get_by_role("button", name="Put it back").click()
    until(page, f"{MADE} && Object.keys(posyPage.told.tried).length === 0")
    assert (folder / "row.posy").read_text(encoding="utf-8") == ROW
    assert page.evaluate("posyPage.solid.figures.find((one) => one.name === 'across').value") == 2.5


def test_a_tried_figure_is_shown_rough_at_once_and_fine_when_the_hand_rests(page):
    box = page.locator('input[data-measure="across"]')
    box.fill("2.9")
    box.press("Enter")
    until(page, "posyPage.told.rough && posyPage.solid.tolerance > 0.04 && document.getElementById('grams').textContent.startsWith('\u2248')")
    rough, corners = page.evaluate("[posyPage.told.weights.grams, posyPage.solid.arrays.corners.length]")
    assert page.evaluate("posyPage.remarks.length") > 0, "those of before stay"
    until(page, "posyPage.told.tried.across === '2.9 mm' && posyPage.told.checked && posyPage.solid.tolerance < 0.02")
    fine, more = page.evaluate("[posyPage.told.weights.grams, posyPage.solid.arrays.corners.length]")
    assert more > 1.5 * corners and rough == pytest.approx(fine, rel=0.01)
    assert not page.evaluate("posyPage.told.rough || document.getElementById('grams').textContent.startsWith('\u2248')")
    page.get_by_role("button", name="Put it back").click()


def test_a_figure_is_not_written_over_a_text_that_changed(page, folder):
    box = page.locator('input[data-measure="across"]')
    box.fill("2.7")
    box.press("Enter")
    until(page, "posyPage.told.tried.across === '2.7 mm' && posyPage.told.checked")
    newer = ROW + "# meanwhile\n"
    answer = page.evaluate(
        "fetch('write/row', {method: 'POST', headers: {'Content-Type': 'application/json'},"
        " body: JSON.stringify({figures: {across: '2.7 mm'}, mark: 'of an older text'})}).then((one) => one.json())"
    )
    assert not answer["done"] and "changed meanwhile" in answer["trouble"][0]["text"]
    (folder / "row.posy").write_text(newer, encoding="utf-8")
    until(page, f"{MADE} && posyPage.solid.text.includes('meanwhile') && Object.keys(posyPage.told.tried).length === 0")
    assert (folder / "row.posy").read_text(encoding="utf-8") == newer


# --- faults, other pieces, other screens


def test_a_fault_stands_over_the_last_good_piece(page, folder):
    have = page.evaluate("posyPage.have")
    (folder / "row.posy").write_text(ROW.replace("seat: for row", "seat: for raw"), encoding="utf-8")
    until(page, "posyPage.told.stage === 'fault'")
    said = page.locator("#notice").inner_text()
    assert "Not made" in said and "line 11" in said and "last good piece" in said
    assert page.locator(".remark.fault").count() >= 1
    assert page.evaluate("posyPage.have") == have
    assert page.evaluate("document.body.classList.contains('stale')")
    (folder / "row.posy").write_text(ROW, encoding="utf-8")
    until(page, f"{MADE} && posyPage.told.stage === 'checked'")
    assert not page.locator("#notice").is_visible()


def test_a_text_that_goes_leaves_its_piece_until_it_comes_back(page, folder):
    have = page.evaluate("posyPage.have")
    (folder / "row.posy").rename(folder / "row.kept")
    until(page, "posyPage.told.stage === 'fault'")
    assert "last good piece" in page.locator("#notice").inner_text()
    assert page.evaluate("posyPage.have") == have and page.evaluate("document.body.classList.contains('stale')")
    (folder / "row.kept").rename(folder / "row.posy")
    until(page, f"{MADE} && posyPage.told.stage === 'checked'")


def test_a_renamed_folder_is_watched_on(page, folder):
    """The watch stands in it, and goes where it goes."""
    away, texts = folder.with_name("elsewhere"), [ROW.replace("2.2 mm, corner", f"{one} mm, corner") for one in (2.6, 2.7)]
    folder.rename(away)
    try:
        (away / "row.posy").write_text(texts[0], encoding="utf-8")
        until(page, f"{MADE} && posyPage.told.mark === '{text_mark(texts[0])}'")
    finally:
        away.rename(folder)
    (folder / "row.posy").write_text(texts[1], encoding="utf-8")
    until(page, f"{MADE} && posyPage.told.mark === '{text_mark(texts[1])}'")


def test_a_comment_draws_nothing_anew(page, folder):
    seen = page.evaluate("posyPage.solid.seen")
    page.evaluate("posyPage.drawing.metalSkin.mark = 'as it was'")
    (folder / "row.posy").write_text(f"# another line\n{ROW}", encoding="utf-8")
    until(page, f"{MADE} && posyPage.solid.text.startsWith('# another')")
    assert page.evaluate("posyPage.drawing.metalSkin.mark") == "as it was"
    assert page.evaluate("posyPage.solid.seen") == seen
    assert page.evaluate("posyPage.drawn === posyPage.have")


# --- as it will look


def _pixels(page):
    from io import BytesIO

    from PIL import Image

    return np.asarray(Image.open(BytesIO(page.locator("#piece").screenshot())).convert("RGB")).astype(int)


def test_a_finish_is_the_pictures_own_and_dulls_what_the_metal_mirrors(page):
    from posy.compiler.picture.names import FINISHES

    told = page.evaluate("[...document.getElementById('finish').options].map((one) => [one.value, Number(one.dataset.rough)])")
    assert dict(told) == {name: rough for name, (rough, _) in FINISHES.items()}
    contrast = []
    page.locator("#parts").select_option("metal")
    for name in FINISHES:
        page.locator("#finish").select_option(name)
        pixels = _settled(page)
        gold = pixels[..., 0] > pixels[..., 2] + 20
        contrast.append(pixels[gold].mean(axis=1).std())
    page.locator("#finish").select_option("polished")
    page.locator("#parts").select_option("all")
    assert contrast == sorted(contrast, reverse=True)


def _settled(page):
    """The pixels once they stay as they are: the change has been drawn, and drawn finely."""
    before = None
    for _ in range(40):
        time.sleep(0.4)
        until(page, STILL)
        pixels = _pixels(page)
        if before is not None and np.array_equal(pixels, before):
            break
        before = pixels
    return pixels


def _nearest(data):
    """How near to the middle of a stone, seen from above, metal comes over its girdle, mm."""
    _, arrays = unpacked(data)
    metal, middles = arrays["points"].reshape(-1, 3), arrays["frames"].reshape(-1, 3, 4)[:, :, 3]
    over = metal[metal[:, 2] > middles[0, 2] + 0.2]
    return np.linalg.norm(over[:, None, :2] - middles[None, :, :2], axis=-1).min()


def test_with_its_stones_set_prongs_lie_over_them(page, watch):
    change = page.locator("#change").inner_text()
    page.locator("#state").select_option("finished")
    until(page, f"{MADE} && posyPage.worked && !posyPage.waiting")
    assert _nearest(watch.get("finished/row/1")) < _nearest(watch.get("solid/row/1")) - 0.1
    assert page.locator("#change").inner_text() == change, "it is no save"
    page.locator("#state").select_option("")
    until(page, "!posyPage.worked")


def test_who_likes_little_motion_has_none(chromium, watch, page):
    other = Screen(chromium, watch, reduced_motion="no-preference")
    look = "document.getElementById('view').value = 'end'; document.getElementById('view').dispatchEvent(new Event('change'))"
    for one, moves in ((other.page, True), (page, False)):
        one.evaluate(look)
        assert one.evaluate("posyPage.flight !== null") == moves
    other.context.close()


def test_another_piece_and_a_lost_connection_on_a_second_screen(chromium, watch, page, folder):
    plate = DISC.replace("Quay disc", "Quay plate").replace("measure wide = 12 mm, from 8 mm to 20 mm\n", "")
    (folder / "plate.posy").write_text(plate.replace("across wide", "across 9 mm"), encoding="utf-8")
    other = Screen(chromium, watch)
    other.page.get_by_role("button", name="plate", exact=True).click()  # which has no measures
    until(other.page, f"{MADE} && posyPage.told.piece === 'plate'")
    assert other.page.locator("#figures label").count() == 0
    other.page.get_by_role("button", name="disc", exact=True).click()
    until(other.page, f"{MADE} && posyPage.told.piece === 'disc'")
    assert other.page.locator("#title").inner_text() == "Quay disc"
    assert page.locator("#title").inner_text() == "Quay row"
    other.page.locator("#pose").select_option("lying")
    until(other.page, STILL)
    assert other.complaints == []
    other.context.set_offline(True)
    other.page.evaluate("posyPage.news.dispatchEvent(new Event('error'))")
    until(other.page, "!document.getElementById('notice').hidden && posyPage.lost")
    assert "connection is lost" in other.page.locator("#notice").inner_text()
    other.context.set_offline(False)
    until(other.page, "!posyPage.lost")
    assert not other.page.locator("#notice").is_visible()
    other.context.close()


# --- for everybody


def test_it_works_by_keyboard_alone(page):
    page.locator("#piece").focus()
    turn = page.evaluate("posyPage.look.turn")
    page.keyboard.press("ArrowLeft")
    assert page.evaluate("posyPage.look.turn") != turn
    page.evaluate("posyPage.look.at = posyPage.touch.corner(0).slice()")
    page.keyboard.press("Enter")
    assert page.locator("#says").is_visible()
    page.keyboard.press("Escape")
    assert not page.locator("#says").is_visible()
    reached = set()
    for _ in range(40):
        page.keyboard.press("Tab")
        reached.add(page.evaluate("document.activeElement.id || document.activeElement.className || document.activeElement.name"))
    assert {"view", "pose", "cut", "calliper", "true"} <= reached
    assert any(str(one).startswith("remark") for one in reached)


@pytest.mark.parametrize("scheme, wide", [("light", 840), ("dark", 380)])
def test_an_accessibility_checker_finds_nothing_serious(page, scheme, wide):
    """axe-core, by Deque Systems, with all its rules."""
    from axe_playwright_python.sync_playwright import Axe

    page.emulate_media(color_scheme=scheme, reduced_motion="reduce")
    page.set_viewport_size({"width": wide, "height": 420})
    found = Axe().run(page)
    serious = [
        (one["id"], [node["html"][:90] for node in one["nodes"]])
        for one in found.response["violations"]
        if one["impact"] in ("serious", "critical")
    ]
    wider = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    page.emulate_media(color_scheme="light", reduced_motion="reduce")
    page.set_viewport_size({"width": 840, "height": 420})
    assert serious == []
    assert wider <= 0


def test_a_sent_page_opens_by_itself(chromium, folder, tmp_path):
    import subprocess
    import sys

    subprocess.run(
        [sys.executable, "-m", "posy.compiler", "show", "row.posy", "--into", str(tmp_path), "--tolerance", "0.02mm",
         "--stills", "face", "--size", "320x240"],
        cwd=folder, check=True, capture_output=True,
    )  # fmt: skip
    from PIL import Image

    picture = np.asarray(Image.open(tmp_path / "row-face.png").convert("RGB")).astype(int)
    assert picture.shape == (240, 320, 3)
    assert (picture[..., 0] > picture[..., 2] + 35).mean() > 0.05, "gold is to be seen"
    context = chromium.new_context(viewport={"width": 390, "height": 700}, offline=True)
    page, asked, complaints = context.new_page(), [], []
    page.on("request", lambda one: asked.append(one.url))
    page.on("console", lambda one: complaints.append(one.text) if one.type in ("error", "warning") else None)
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.goto((tmp_path / "row.html").as_uri(), wait_until="commit")
    until(page, "window.posyPage && posyPage.look && Number(document.documentElement.dataset.drawn) > 0")
    assert page.locator("#title").inner_text() == "Quay row"
    assert "ct" in page.locator("#carats").inner_text()
    assert [url for url in asked if not url.startswith(("file:", "data:"))] == []
    assert complaints == []
    context.close()


def test_saves_in_a_row_end_in_the_last(page, folder):
    for height in ("2.3", "2.5", "2.7"):
        (folder / "row.posy").write_text(ROW.replace("2.2 mm, corner", f"{height} mm, corner"), encoding="utf-8")
        time.sleep(0.05)
    until(page, f"{MADE} && posyPage.solid.text.includes('2.7 mm, corner')")
    assert json.loads(page.evaluate("JSON.stringify(posyPage.told.tried)")) == {}
