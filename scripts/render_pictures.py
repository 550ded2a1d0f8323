"""Renders the pictures of the README from the real demo workbook.

Makes the demo, converts it with headless LibreOffice and crops the first page of some sheets to
what is on it. Needs soffice, pdftoppm and pdftotext on the path, and Pillow.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image, ImageChops

ROOT = Path(__file__).resolve().parent.parent
PICTURES = ROOT / "docs" / "pictures"
SHEETS = {
    "start": "Base of a small outbuilding",
    "compare": "Compare: the options",
    "field_sheet": "Dig or fill to the subgrade",
    "pictures": "Sides of the base",
    "cut_plan": "Cut Plan: every board",
}
DPI = 100
MARGIN = 20


def run(*command: str) -> str:
    """Run a command to its end; what it printed."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, check=True, capture_output=True, env=environment, text=True)
    return done.stdout


def cropped(path: Path) -> Image.Image:
    """A page without its white margins and its footer."""
    page = Image.open(path).convert("RGB")
    page = page.crop((0, 0, page.width, int(page.height * 0.93)))
    box = ImageChops.difference(page, Image.new("RGB", page.size, "white")).getbbox()
    assert box is not None
    left, top, right, bottom = box
    bottom = min(bottom + MARGIN, page.height)
    return page.crop((left - MARGIN, top - MARGIN, right + MARGIN, bottom))


def main() -> None:
    """Render every picture."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "demo.xlsx"
        run(sys.executable, "-m", "estimator", "new", str(book), "--demo")
        profile = f"-env:UserInstallation={(Path(folder) / 'profile').as_uri()}"
        run("soffice", profile, "--headless", "--convert-to", "pdf", "--outdir", folder, str(book))
        pdf = str(book.with_suffix(".pdf"))
        pages = run("pdftotext", "-layout", pdf, "-").split("\f")
        for name, title in SHEETS.items():
            number = next(n for n, text in enumerate(pages, 1) if title in text)
            page = Path(folder) / name
            at = str(number)
            run(
                "pdftoppm",
                "-r",
                str(DPI),
                "-f",
                at,
                "-l",
                at,
                "-singlefile",
                "-png",
                pdf,
                str(page),
            )
            picture = cropped(page.with_suffix(".png")).quantize(64)
            picture.save(PICTURES / f"{name}.png", optimize=True)
            print(f"docs/pictures/{name}.png from page {number}")


if __name__ == "__main__":
    main()
