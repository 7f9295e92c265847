"""Build posy as it is given out, install it elsewhere, and use it there.

    python tests/install/run.py [--oldest] [--python PYTHON]

Builds the sdist, and the wheel out of the sdist; both must hold what a user needs and nothing else. The wheel
is installed in a fresh venv, outside the checkout, and its commands are used in an empty folder: every starter
started, checked and made, words, why, tidy, compare, history, about. With --oldest every library is taken in
the oldest version that pyproject.toml allows. Prints what it did; exits with 1 at the first thing that is
not right. Needs the network, for pip.
"""

from __future__ import annotations

import argparse
import re
import subprocess
import sys
import tarfile
import tempfile
import tomllib
import venv
import zipfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
WANTED = ("posy/lang/grammar.lark", "posy/lang/tables.json", "posy/stdlib/starters/ring.posy",
          "posy/stdlib/tables/alloys.tsv", "posy/stdlib/reference/prong.svg", "posy/compiler/command.py")  # fmt: skip
KINDS = ("pendant", "ring", "studs", "cuff", "brooch")
_LEAST = re.compile(r"^([A-Za-z0-9._-]+)\s*(?:>=|==)\s*([0-9.]+)")


def run(*words: str | Path, folder: Path, codes: tuple[int, ...] = (0,)) -> str:
    """Run a program; its output. Ends everything when it ends otherwise than expected."""
    done = subprocess.run([str(word) for word in words], cwd=folder, capture_output=True, text=True)
    said = done.stdout + done.stderr
    if done.returncode not in codes or "Traceback" in said:
        sys.exit(f"{' '.join(map(str, words))} ended with {done.returncode}:\n{said[-3000:]}")
    return said


def oldest() -> list[str]:
    """Every library that posy needs at run time, in the oldest version allowed."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    found = (_LEAST.match(line) for line in project["dependencies"])
    return [f"{one[1]}=={one[2]}" for one in found if one]


def built(folder: Path) -> Path:
    """The wheel, made from the sdist; both looked into."""
    source = folder / "source"
    run("git", "clone", "-q", ROOT, source, folder=folder)
    run(sys.executable, "-m", "pip", "install", "-q", "--target", folder / "tools", "build", folder=folder)
    code = f"import sys; sys.path.insert(0, {str(folder / 'tools')!r}); from build.__main__ import main; " \
        "main(sys.argv[1:])"
    run(sys.executable, "-c", code, "--outdir", folder / "dist", source, folder=folder)
    wheel, = (folder / "dist").glob("*.whl")
    sdist, = (folder / "dist").glob("*.tar.gz")
    names = zipfile.ZipFile(wheel).namelist()
    missing = [name for name in WANTED if name not in names]
    odd = [name for name in names if name.startswith(("posy/tests", "tests", "examples", "guide"))]
    if missing or odd:
        sys.exit(f"the wheel lacks {missing}, and should not hold {odd[:5]}")
    with tarfile.open(sdist) as packed:
        held = [name.partition("/")[2] for name in packed.getnames()]
    lost = [name for name in WANTED if name.removeprefix("posy/") not in held]
    if lost:
        sys.exit(f"the sdist lacks {lost}")
    print(f"{wheel.name}: {len(names)} files, {wheel.stat().st_size / 1e6:.1f} MB; {sdist.name}: {len(held)} files")
    return wheel


def used(posy: Path, folder: Path) -> None:
    """The commands, in a folder that knows nothing of the checkout."""
    print(run(posy, "about", folder=folder))
    for kind in KINDS:
        run(posy, "start", f"{kind} one", "--of", kind, folder=folder)
        run(posy, "tidy", f"{kind}-one.posy", "--check", folder=folder)
        run(posy, "check", f"{kind}-one.posy", folder=folder)
    print(run(posy, "make", *(f"{kind}-one.posy" for kind in KINDS), "--show", "lines", folder=folder))
    piece = folder / "ring-one.posy"
    piece.write_text(piece.read_text("utf-8").replace("wide 3 mm", "wide 3.4 mm"), "utf-8")
    print(run(posy, "since", piece.name, "--picture", "c.svg", folder=folder))
    run(posy, "history", piece.name, "--plot", "h.svg", folder=folder)
    for words in (("words", "prong"), ("why", "thin-wall"), ("weigh", piece.name), ("draw", piece.name), ("help",)):
        run(posy, *words, folder=folder)
    run(posy, "editor", folder=folder, codes=(0, 2))


def main() -> None:
    """Build, install, use."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--oldest", action="store_true")
    options.add_argument("--python", default=sys.executable, help="the Python to install into")
    said = options.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        wheel = built(folder)
        if said.python == sys.executable:
            venv.create(folder / "venv", with_pip=True)
        else:
            run(said.python, "-m", "venv", folder / "venv", folder=folder)
        bounds = oldest() if said.oldest else []
        pip = folder / "venv" / "bin" / "pip"
        run(pip, "install", "-q", "--disable-pip-version-check", wheel, *bounds, folder=folder)
        print(run(pip, "list", "--disable-pip-version-check", folder=folder))
        (folder / "bench").mkdir()
        used(folder / "venv" / "bin" / "posy", folder / "bench")
    print("all right")


if __name__ == "__main__":
    main()
