"""Orders as zips and PDFs, opened by readers of others: zipfile, csv, lib3mf, trimesh, pypdf."""

import csv
import io
import os
import re
import zipfile

import pytest
import trimesh
from orders import DATE, Order

from posy.compiler.files.browser import browser
from posy.compiler.sheets.pdf import printed

PAGES = {"comet-halo": 3, "island-cab": 2, "harbour-cluster": 2}  # and how many the setter's sheet has
RECEIVERS = ("caster", "setter", "stones")
needs_browser = pytest.mark.skipif(
    browser() is None and os.environ.get("POSY_ALL_OUTSIDE") != "1", reason="no browser to print with"
)


@pytest.fixture(scope="module")
def orders(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shop")
    return {name: Order(folder, name) for name in PAGES}


@pytest.fixture(params=PAGES)
def order(orders, request):
    return orders[request.param]


def test_a_zip_is_opened_by_others(order, tmp_path):
    import lib3mf

    for receiver in RECEIVERS:
        pack = zipfile.ZipFile(order.home(receiver).parent / f"{order.name}-{receiver}.zip")
        assert pack.testzip() is None
        files = {one: pack.read(one) for one in pack.namelist()}
        assert files == {path.name: path.read_bytes() for path in order.home(receiver).iterdir()}
        for one, data in files.items():
            if one.endswith(".csv"):
                rows = list(csv.reader(io.StringIO(data.decode("utf-8"), newline="")))
                assert len({len(row) for row in rows}) == 1 and len(rows) > 1
    pack = zipfile.ZipFile(order.home("caster").parent / f"{order.name}-caster.zip")
    (model,) = (one for one in pack.namelist() if one.endswith(".3mf"))
    target = tmp_path / model
    target.write_bytes(pack.read(model))
    held = lib3mf.get_wrapper().CreateModel()
    held.QueryReader("3mf").ReadFromFile(str(target))
    meshes = held.GetMeshObjects()
    assert meshes.MoveNext() and meshes.GetCurrentMeshObject().IsManifoldAndOriented()
    (solid,) = trimesh.load(target).geometry.values()
    assert solid.is_watertight and solid.volume == pytest.approx(order.meshes[0].volume, rel=1e-4)


@needs_browser
def test_the_pdfs_have_their_pages_their_text_and_every_figure_of_the_page(order):
    from pypdf import PdfReader

    counts = {}
    for receiver in RECEIVERS:
        reader = PdfReader(order.home(receiver) / f"{order.name}-{receiver}.pdf")
        text = [one.extract_text() for one in reader.pages]
        counts[receiver], tree = len(text), order.page(receiver)
        title = tree.xpath("string(//h1)")
        assert title in text[0] and DATE in text[0]
        for number, one in enumerate(text, start=1):
            assert f"{number} of {len(text)}" in one and title in one
            least = 150 if "Drawing the metal alone" in one else 400  # no page is empty, or has a line or two
            assert len(one) > least, (receiver, number)
        shown = sorted(one for cell in tree.xpath("//td | //dd") for one in re.findall(r"\d+\.\d+", cell.text_content()))
        printed_ = re.findall(r"\d+\.\d+", " ".join("".join(text).split()))
        assert all(printed_.count(one) >= shown.count(one) for one in shown)
    assert counts == {"caster": 2, "setter": PAGES[order.name], "stones": 1}


@needs_browser
def test_a_sheet_takes_a4_and_letter(orders):
    from pypdf import PdfReader

    order = orders["comet-halo"]
    sheet = (order.home("setter") / "comet-halo-setter.html").read_bytes()
    papers = {"A4": (595, 842), "Letter": (612, 792)}
    pages = {f"{name}.html": sheet.replace(b"@page{", b"@page{size:%s;" % name.encode(), 1) for name in papers}
    made = printed(pages, browser())
    readers = {name: PdfReader(io.BytesIO(made[f"{name}.html"])) for name in papers}
    assert abs(len(readers["A4"].pages) - len(readers["Letter"].pages)) <= 1
    for name, size in papers.items():
        box = readers[name].pages[0].mediabox
        assert (float(box.width), float(box.height)) == pytest.approx(size, abs=1.5)
    text = [" ".join("".join(one.extract_text() for one in reader.pages).split()) for reader in readers.values()]
    assert sorted(re.findall(r"\d+\.\d\d", text[0])) == sorted(re.findall(r"\d+\.\d\d", text[1]))


def test_the_same_order_is_the_same_bytes(orders, tmp_path):
    order = orders["island-cab"]
    order.made(tmp_path, "setter,stones")
    for receiver in ("setter", "stones"):
        again = tmp_path / "island-cab-order" / f"island-cab-{receiver}.zip"
        assert again.read_bytes() == (order.home(receiver).parent / again.name).read_bytes()
