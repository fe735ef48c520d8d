"""Renders the pages of `struck print` in headless Chromium and reads them back.

    python tests/rendered/check.py BROWSER STRUCK [--store]

For each page: it asks the network for nothing, nothing runs over its box, it prints on as many pages as it should, the codes of its
QR symbols read back (zbarimg), and its text is what is stored in tests/rendered/text.
"""

import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).parent
NURSERY = HERE.parent.parent / "sample-journals" / "nursery"
NOW = "2026-08-20T12:00:00+01:00"
# Name, arguments, pages that it prints on (least and most), whether its QR symbols are read.
PAGES = [
    ("labels-a4", ["labels", "--open"], (1, 1), True),
    ("labels-letter", ["labels", "--open", "--sheet", "2x5", "--paper", "letter"], (2, 2), True),
    ("labels-single", ["labels", "26-016", "26-k004", "--size", "60x30mm"], (2, 2), True),
    ("looks-a4", ["looks"], (1, 3), True),
    ("looks-letter", ["looks", "--paper", "letter"], (1, 3), True),
    ("sticking", ["sticking"], (1, 1), False),
    ("season", ["season", "2025"], (2, 12), False),
    ("taxon", ["taxon", "weigela"], (1, 6), False),
]
# A copy of a page with this in it tells what runs over its box; the page itself runs nothing.
MEASURE = """<script>addEventListener('load', () => {
  const over = [];
  for (const e of document.querySelectorAll('.paper, article, article *, td, p, h1, h2, figure, figure > svg, table')) {
    if (e.closest('svg') && e.tagName !== 'svg') continue;
    const box = e.getBoundingClientRect(), outer = e.parentElement.getBoundingClientRect();
    const wide = e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0;
    if (wide || box.right > outer.right + 1.5) over.push(e.tagName + ' ' + e.className + ' ' + (e.textContent || '').slice(0, 40));
  }
  document.title = 'OVER ' + JSON.stringify(over.slice(0, 5));
});</script>"""


def browse(browser, scratch, *arguments):
    """Runs the browser once, with nobody to ask; what it asks of the network is told."""
    log = scratch / "net.json"
    run = [browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run",
           "--disable-background-networking", "--disable-component-update", "--disable-sync", "--disable-extensions",
           "--host-resolver-rules=MAP * ~NOTFOUND", f"--user-data-dir={scratch / 'profile'}", f"--log-net-log={log}", *arguments]
    done = subprocess.run(run, capture_output=True, timeout=120, check=True, env={**os.environ, "HOME": str(scratch)})
    return done.stdout.decode(errors="replace"), asked_of_network(log)


def asked_of_network(log):
    """The hosts that a page asked for; what the browser asks for by itself has no page that began it."""
    hosts = set()
    for line in log.read_text(errors="replace").splitlines() if log.exists() else ():
        begun = re.search(r'"initiator":"([^"]*)"', line)
        if begun and begun[1] != "not an origin":
            hosts.update(re.findall(r'"url":"(?:https?|ftp|wss?)://([^/":]*)', line))
    return hosts


def check_of_network(browser):
    """A page that asks is found out, or the check would show nothing."""
    with tempfile.TemporaryDirectory() as scratch:
        scratch = pathlib.Path(scratch)
        page = scratch / "asks.html"
        page.write_text('<img src="http://picture.invalid/a.png">', encoding="utf-8")
        _, asked = browse(browser, scratch, "--dump-dom", page.as_uri())
        assert asked == {"picture.invalid"}, asked


def printed(browser, scratch, page):
    pdf = scratch / "page.pdf"
    _, asked = browse(browser, scratch, "--no-pdf-header-footer", f"--print-to-pdf={pdf}", page.as_uri())
    info = subprocess.run(["pdfinfo", pdf], capture_output=True, check=True, text=True).stdout
    return pdf, int(re.search(r"Pages:\s+(\d+)", info)[1]), asked


def over(browser, scratch, page):
    html = page.read_text(encoding="utf-8")
    html = re.sub(r"<meta http-equiv[^>]*>", "", html).replace("</body>", MEASURE + "</body>")
    copy = scratch / "measured.html"
    copy.write_text(html, encoding="utf-8")
    dom, _ = browse(browser, scratch, "--virtual-time-budget=4000", "--window-size=1000,1400", "--dump-dom", copy.as_uri())
    told = re.search(r"<title>OVER (.*?)</title>", dom, re.S)
    assert told, dom[:400]
    return json.loads(told[1].replace("&amp;", "&").replace("&lt;", "<").replace("&gt;", ">"))


def symbols(scratch, pdf):
    """The codes that a scanner reads from the printed pages, held at several distances."""
    codes = []
    for dots in (150, 200, 300):
        subprocess.run(["pdftoppm", "-r", str(dots), "-png", pdf, scratch / f"seen{dots}"], check=True)
        for picture in sorted(scratch.glob(f"seen{dots}*.png")):
            read = subprocess.run(["zbarimg", "--quiet", "--raw", "-Sdisable", "-Sqrcode.enable", picture], capture_output=True, text=True)
            codes += read.stdout.split()
    return sorted(set(codes))


def main(browser, struck, *options):
    stored, failed = HERE / "text", []
    stored.mkdir(exist_ok=True)
    check_of_network(browser)
    for name, arguments, (least, most), has_symbols in PAGES:
        with tempfile.TemporaryDirectory() as scratch:
            scratch = pathlib.Path(scratch)
            shutil.copytree(NURSERY, scratch / "journal")
            page = scratch / f"{name}.html"
            environment = {"HOME": str(scratch), "LANG": "C.UTF-8", "STRUCK_NOW": NOW}
            run = [struck, "--journal", str(scratch / "journal"), "print", *arguments, "--to", str(page)]
            subprocess.run(run, check=True, capture_output=True, env=environment)
            pdf, pages, asked = printed(browser, scratch, page)
            text = subprocess.run(["pdftotext", "-layout", pdf, "-"], capture_output=True, check=True, text=True).stdout
            wrong = []
            if asked:
                wrong.append(f"asks the network for {sorted(asked)}")
            if not least <= pages <= most:
                wrong.append(f"prints on {pages} pages, not {least} to {most}")
            if running := over(browser, scratch, page):
                wrong.append(f"runs over its box: {running}")
            drawn = re.findall(r'aria-label="QR code of ([^"]*)"', page.read_text(encoding="utf-8"))
            if has_symbols and (read := symbols(scratch, pdf)) != sorted(drawn):
                wrong.append(f"{len(read)} of {len(drawn)} QR symbols read back; missing {sorted(set(drawn) - set(read))[:5]}")
            # Words, not their places: fonts differ from machine to machine.
            words = " ".join(text.split()) + "\n"
            file = stored / f"{name}.txt"
            if "--store" in options:
                file.write_text(words, encoding="utf-8")
            elif not file.exists() or sorted(file.read_text(encoding="utf-8").split()) != sorted(words.split()):
                wrong.append(f"its text is not what {file} holds")
            if keep := os.environ.get("KEEP"):
                pathlib.Path(keep).mkdir(parents=True, exist_ok=True)
                subprocess.run(["pdftoppm", "-r", "70", "-png", pdf, pathlib.Path(keep) / name], check=True)
            print(f"{name}: {pages} pages, {len(drawn)} QR symbols" + "".join(f"\n  !! {what}" for what in wrong))
            failed += wrong
    sys.exit(1 if failed else 0)


main(*sys.argv[1:])
