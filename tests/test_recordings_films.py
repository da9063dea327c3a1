"""Films and recordings as a coach makes them: what they say is right, or it is said what is wrong with them."""

from pathlib import Path

import numpy as np
import pytest
from conftest import refused

from golfphys.recordings.filmed import film_rows, speed_at_start, view_of
from golfphys.recordings.follow import follow
from golfphys.recordings.opening import Camera, RecordingError, film, frames, one_frame, open_clip

MARKS = [(0.0, 0.0), (3.0, 0.0), (3.0, 1.0), (0.0, 1.0)]
CAMERA = Camera()
PIXELS = CAMERA.project(np.c_[np.array(MARKS), np.zeros(4)]).tolist()
SIZE = CAMERA.width, CAMERA.height


@pytest.mark.parametrize("speed", [0.8, 1.4])
def test_a_ball_that_waits_in_the_picture_is_measured_from_where_it_sets_off(speed: float, tmp_path: Path) -> None:
    """Its speed is not that of the ball at rest, and no row is of it; nor are its first steps lost."""
    times = np.arange(0.0, 2.0, 1 / 30)
    rolled = np.clip(times - 0.7, 0.0, None)
    way = speed * rolled - 0.31 * rolled**2
    velocity = np.where(times >= 0.7, speed - 0.62 * rolled, 0.0)
    straight = np.array([1.0, 0.0])
    path = tmp_path / "putt.mp4"
    film(path, np.array([0.3, 0.3]) + way[:, None] * straight, times, speed=velocity[:, None] * straight)
    track = follow(open_clip(path), view_of(MARKS, PIXELS, SIZE))
    assert track.table["time"].iloc[0] == pytest.approx(0.75, abs=0.06)
    found = speed_at_start(track)
    assert abs(found.value - np.interp(track.table["time"].iloc[0], times, velocity)) < 3 * found.sd
    assert film_rows(track, roll="a", spot="low")["distance_m"].iloc[1] == pytest.approx(speed / 30, abs=0.01)


def test_the_still_that_is_shown_is_the_frame_that_a_click_belongs_to(tmp_path: Path) -> None:
    times = np.arange(12) * 1001 / 30000  # stills are chosen by thirtieths
    film(tmp_path / "a.mp4", np.linspace([0.3, 0.3], [1.5, 0.3], 12), times)
    clip = open_clip(tmp_path / "a.mp4")
    stored = [grey for _, grey in frames(clip)]
    assert all((one_frame(clip, number / 30) == stored[number]).all() for number in range(12))


def test_marks_clicked_from_right_to_left_are_refused() -> None:
    """Lengths would be right, but a ball that breaks to the left would be said to break to the right."""
    for order in ((1, 0, 3, 2), (3, 2, 1, 0)):
        turned = [PIXELS[at] for at in order]
        refused("wrong way round", lambda turned=turned: view_of(MARKS, turned, SIZE), RecordingError)
    view_of(MARKS, PIXELS[2:] + PIXELS[:2], SIZE)  # from the other side it is the same ground
