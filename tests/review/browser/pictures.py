"""Draws the pictures of the desk in the guide for the reviewer.

``python -m tests.review.browser.pictures FOLDER``: the invented leg, with the fixtures' speech where
they have it.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Any

import numpy as np
import soundfile
import soxr
from PIL import Image
from playwright.sync_api import sync_playwright

from tests.review.browser.conftest import CHROMIUM, FLAGS, looking, served
from tests.review.browser.invented import LEG, write_leg
from voice.commands.demo import DemoLeg, utterances
from voice.entries.heard import SAMPLE_RATE
from voice.meaning.grammar import load_grammar

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from playwright.sync_api import Page

    from tests.review.browser.invented import Said

_COLOURS = 64
"""Enough for a page, and a third of the bytes."""


def _spoken() -> tuple[Said, ...]:
    """The invented leg, spoken."""
    clips = {
        utterance.text: utterance.cue.file
        for demo_leg in DemoLeg
        for utterance in utterances(demo_leg)
    }
    other = next(iter(clips.values()))
    return tuple(replace(one, samples=_samples(clips.get(one.text, other))) for one in LEG)


def _samples(clip: Path) -> NDArray[np.int16]:
    samples, rate_hz = soundfile.read(clip, dtype="int16")
    return np.asarray(soxr.resample(samples, rate_hz, SAMPLE_RATE), dtype=np.int16)


def main() -> None:
    """Draw them."""
    folder = Path(sys.argv[1])
    grammar = load_grammar()
    with TemporaryDirectory() as scratch, sync_playwright() as playwright:
        leg = Path(scratch) / "2026-05-01-1400"
        write_leg(leg, _spoken())
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        with served(leg, grammar) as desk:
            with looking(browser, desk.address) as page:
                _draw(page, folder / "reviewer-desk.png")
                page.click("#entry-4")
                page.wait_for_selector("#alternatives input[value='1']")
                page.keyboard.press("2")
                _draw(page, folder / "reviewer-correction.png")
            large: dict[str, Any] = {
                "viewport": {"width": 640, "height": 760},
                "device_scale_factor": 2,
            }
            with looking(browser, desk.address, color_scheme="dark", **large) as page:
                page.click("#entry-17")
                page.wait_for_selector("#alternatives input[value='1']")
                page.keyboard.press("e")
                page.keyboard.type("15")
                page.wait_for_selector(".becomes:not(:empty)")
                _draw(page, folder / "reviewer-enlarged.png")
        browser.close()


def _draw(page: Page, file: Path) -> None:
    page.wait_for_load_state("networkidle")
    page.wait_for_timeout(500)
    drawn = Image.open(BytesIO(page.screenshot()))
    drawn.quantize(_COLOURS).save(file, optimize=True)


if __name__ == "__main__":
    main()
