"""The one style of all sheets: for the screen, and for paper of A4 and of US letter.

The paper is the printer's own: what is written fits 190 mm, drawings are no larger than 182 x 235 mm, so
either paper takes a page as it falls. Nothing is told by colour alone.
"""

from __future__ import annotations

_STYLE = """\
@page{margin:14mm 13mm 16mm;@bottom-left{content:%s;font:8pt Helvetica,Arial,sans-serif;color:#444}
@bottom-right{content:counter(page) " of " counter(pages);font:8pt Helvetica,Arial,sans-serif;color:#444}}
*{box-sizing:border-box}
html{-webkit-print-color-adjust:exact;print-color-adjust:exact}
body{font:10pt/1.35 Helvetica,Arial,sans-serif;color:#111;background:#fff;
max-width:184mm;margin:0 auto;padding:6mm 0}
header{border-bottom:1.2pt solid #111;margin-bottom:4mm;padding-bottom:2mm}
.kind{font-size:9pt;text-transform:uppercase;letter-spacing:.06em;margin:0;color:#333}
h1{font-size:17pt;line-height:1.15;margin:.5mm 0 1mm}
.stamp{font-size:8.5pt;color:#333;margin:0;overflow-wrap:anywhere}
h2{font-size:11.5pt;margin:4mm 0 1.5mm;break-after:avoid}
h3{font-size:10pt;margin:3mm 0 1mm;break-after:avoid}
ol{margin:0 0 2mm;padding-left:6mm}
h2 small{font-weight:normal;font-size:9pt;color:#333}
p{margin:0 0 1.8mm;orphans:3;widows:3}
.fine{font-size:8.5pt;color:#333}
.first{break-after:avoid}
ul{margin:0 0 2mm;padding-left:4.5mm}
li{break-inside:avoid;margin-bottom:.6mm}
dl{margin:0 0 2mm;columns:2;column-gap:6mm}
dl div{display:flex;gap:2mm;justify-content:space-between;border-bottom:.4pt solid #bbb;padding:.5mm 0;
break-inside:avoid}
dt{color:#333}
dd{margin:0;text-align:right;font-weight:600;overflow-wrap:anywhere}
table{border-collapse:collapse;width:100%%;font-size:9pt;margin:0 0 3mm}
thead{display:table-header-group}
tfoot{display:table-row-group}
tr{break-inside:avoid}
tbody tr:nth-last-child(-n+3):not(:last-child),tbody tr:first-child{break-after:avoid}
th{text-align:left;vertical-align:bottom;border-bottom:.9pt solid #111;padding:.7mm 2.4mm .7mm 0}
td{vertical-align:top;border-bottom:.4pt solid #bbb;padding:.7mm 2.4mm .7mm 0;overflow-wrap:break-word}
th:last-child,td:last-child{padding-right:0}
tfoot td{border-bottom:0;font-weight:700}
tfoot tr:first-child td{border-top:.9pt solid #111}
.cost td:first-child{white-space:nowrap}
.cost td:nth-child(3){white-space:nowrap}
.cost td:last-child{font-size:8pt}
.n{text-align:right;white-space:nowrap;font-variant-numeric:tabular-nums}
th.n{white-space:normal}
.n+td:not(.n),.n+th:not(.n){padding-left:2mm}
.whole{white-space:nowrap}
.mono{font:7.5pt/1.3 "Courier New",monospace;overflow-wrap:anywhere}
figure{margin:2mm 0 3mm;break-inside:avoid;text-align:center}
figure svg{max-width:100%%;display:block;margin:0 auto}
figcaption{font-size:8.5pt;color:#333}
.row{display:flex;flex-wrap:wrap;gap:1mm 4mm;justify-content:space-between;break-inside:avoid}
.row figure{margin:0 0 2mm}
.row dl{flex:1 1 75mm;columns:3 52mm;font-size:9.5pt}
.one dl{columns:1}
.together{break-inside:avoid}
.page{break-before:page}
.care{border:1.2pt solid #111;
padding:2mm 3mm;margin:3mm .5mm;font-size:8.5pt;line-height:1.28;box-decoration-break:clone;
-webkit-box-decoration-break:clone}
.care h2{margin-top:0}
.care p{break-inside:avoid;margin-bottom:1mm}
.bar{display:inline-block;width:50mm;height:2mm;border:.9pt solid #111;border-top:0;vertical-align:baseline}
.tick{display:inline-block;width:3.4mm;height:3.4mm;border:.8pt solid #111;vertical-align:-.4mm}
@media screen and (max-width:720px){body{padding:4mm}dl{columns:1}table{display:block;overflow-x:auto}}
@media print{body{max-width:none;padding:0}}
"""


def style(foot: str) -> str:
    """The style, with ``foot`` at the foot of every page."""
    plain = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789 ,.:-+()")
    # Six figures are a whole letter to CSS, whatever comes after it.
    quoted = "".join(c if c in plain else f"\\{ord(c):06x}" for c in foot)
    return _STYLE % f'"{quoted}"'
