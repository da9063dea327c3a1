"""A recording and a film, chosen in the browser: what was heard is said, and the ball is followed after four clicks."""

from pathlib import Path
from typing import Any

import lab
import numpy as np
import pytest
from scipy.io import wavfile
from test_course import form_with, until

from golfphys.recordings.opening import Camera, film, thuds

pytestmark = pytest.mark.thorough
PAGE = "notebooks/20_the_phone_as_an_instrument.ipynb"
CORNERS = ((0.0, 0.0), (3.0, 0.0), (3.0, 1.0), (0.0, 1.0))


def test_the_phones_page(page: Any, server: lab.Lab, tmp_path: Path) -> None:
    sound, clip = tmp_path / "drop.wav", tmp_path / "roll.mp4"
    wavfile.write(
        sound, 48000, (20000 * thuds([0.6, 1.05, 1.245], [0.5, 0.3, 0.15], duration=2.0, seed=2)).astype("i2")
    )
    times = np.arange(0.0, 1.0, 1 / 30)
    way = 1.5 * times - 0.3 * times**2
    camera = film(clip, np.array([0.4, 0.3]) + np.stack([way, 0.05 * way], axis=1), times, camera=Camera())
    lab.open_and_run(page, server, PAGE)
    listening = form_with(page, "Put these times into the sheet")
    with page.expect_file_chooser() as chooser:
        listening.get_by_role("button", name="Choose a recording").click()
    chooser.value.set_files(sound)
    until(page, listening, "first flight: 0.450 s")
    filming = form_with(page, "Follow the ball")
    with page.expect_file_chooser() as chooser:
        filming.get_by_role("button", name="Choose a film").click()
    chooser.value.set_files(clip)
    until(page, filming, "Click the mark that is near left")
    picture = filming.get_by_alt_text("a frame of the film")
    for corner, said in zip(CORNERS, ("near right", "far right", "far left", "Press"), strict=True):
        right, down = np.clip(camera.project(np.array([*corner, 0.0])), 1, [camera.width - 2, camera.height - 2])
        box = picture.bounding_box()
        scale = box["width"] / camera.width
        picture.click(position={"x": right * scale, "y": down * scale})
        until(page, filming, said)
    filming.get_by_role("button", name="Follow the ball").click()
    until(page, filming, "Speed at the first of them", seconds=60)
    lab.screenshot(page, "the phone")
