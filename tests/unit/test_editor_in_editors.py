"""The set-up notes of the guide, tried in the editors that run without a display."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import posy.lang.tidy
from posy.compiler.command import main

GUIDE = (Path(posy.lang.tidy.__file__).parents[1] / "stdlib" / "guide" / "editors.md").read_text("utf-8")
BROKEN = """piece "Ferry bar"
  metal silver-925

stone trio: round 2 mm, gem garnet
bar frame: size 10 x 5 x 2.4 millimeters,   under trio
prong grips: for trio, wire 0.8 mm
seat: for trio, in frame
"""
TALK = """
local function wait(what, test)
  if not vim.wait(30000, test, 20) then print("NEVER " .. what); vim.cmd("cquit") end
end
wait("remarks", function() return #vim.diagnostic.get(0) > 0 end)
local remark = vim.diagnostic.get(0)[1]
print("remark", remark.lnum, remark.message)
vim.api.nvim_buf_set_lines(0, 4, 5, false, { "bar frame: size 10 x 5 x 2.4 mm,   under trio" })
wait("cure", function() return #vim.diagnostic.get(0, { severity = 1 }) == 0 end)
vim.api.nvim_win_set_cursor(0, { 6, 23 })
local here = vim.lsp.util.make_position_params()
for _, one in pairs(vim.lsp.buf_request_sync(0, "textDocument/completion", here, 9000)) do
  print("offers", #one.result.items)
end
local wish = { textDocument = here.textDocument, options = { tabSize = 2, insertSpaces = true } }
for _, one in pairs(vim.lsp.buf_request_sync(0, "textDocument/formatting", wish, 9000)) do
  vim.lsp.util.apply_text_edits(one.result, 0, "utf-16")
end
print("tidied", vim.api.nvim_buf_get_lines(0, 4, 5, false)[1])
print("colour", vim.fn.synIDattr(vim.fn.synID(6, 1, 1), "name"))
"""


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A folder with a broken piece; the command posy is found first."""
    monkeypatch.setenv("PATH", f"{Path(sys.executable).parent}{os.pathsep}{os.environ['PATH']}")
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / ".config"))
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bar.posy").write_text(BROKEN, "utf-8")
    return tmp_path


@pytest.mark.skipif(shutil.which("nvim") is None, reason="neovim is not installed")
def test_neovim_as_the_guide_sets_it_up(folder):
    pytest.importorskip("pygls")
    config = folder / ".config" / "nvim"
    assert main(["editor", str(config / "posy")]) == 0
    (config / "init.lua").write_text(re.findall(r"```lua\n(.*?)```", GUIDE, re.S)[0], "utf-8")
    (folder / "talk.lua").write_text(TALK, "utf-8")
    words = ["nvim", "--headless", "-n", "-i", "NONE", "bar.posy", "-c", "syntax on", "-c", "luafile talk.lua", "-c", "qall!"]
    done = subprocess.run(words, capture_output=True, text=True, timeout=120)
    said = done.stdout + done.stderr
    assert "remark 4 'millimeters' is not a unit" in said, said
    assert int(re.search(r"offers (\d+)", said)[1]) > 5, said
    assert "tidied bar frame: size 10 x 5 x 2.4 mm, under trio" in said
    assert "colour posyWord" in said


@pytest.mark.skipif(shutil.which("vim") is None, reason="vim is not installed")
def test_vim_as_the_guide_sets_it_up(folder):
    assert main(["editor", str(folder / ".vim")]) == 0
    (folder / ".vimrc").write_text("set nocompatible\nfiletype plugin on\nsyntax on\n", "utf-8")
    (folder / "go.vim").write_text(
        "silent make!\nlet q = getqflist()\n"
        "call writefile([bufname(q[0].bufnr), string(q[0].lnum), q[0].text, "
        "synIDattr(synID(6, 1, 1), 'name'), synIDattr(synID(4, 25, 1), 'name')], 'said')\n"
        "%s/millimeters/mm/\nnormal gg=G\nwrite\nqall!\n",
        "utf-8",
    )
    words = ["vim", "-N", "-u", ".vimrc", "-i", "NONE", "-es", "-S", "go.vim", "bar.posy"]
    subprocess.run(words, stdin=subprocess.DEVNULL, capture_output=True, timeout=60)
    said = (folder / "said").read_text("utf-8").splitlines()
    assert said[:2] == ["bar.posy", "5"] and "'millimeters' is not a unit" in said[2]
    assert said[3:] == ["posyWord", "posyClause"]
    assert (folder / "bar.posy").read_text("utf-8") == BROKEN.replace("millimeters,   ", "mm, ")
