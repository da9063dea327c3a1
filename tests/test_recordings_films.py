"""Films and recordings as a coach makes them: what they say is right, or it is said what is wrong with them."""

import warnings
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from conftest import refused
from scipy.io import wavfile

from golfphys import make_course_folder, panels
from golfphys.recordings.filmed import film_rows, speed_at_start, view_of
from golfphys.recordings.follow import follow
from golfphys.recordings.heard import chosen_events, find_onsets, heard_chip, heard_drop
from golfphys.recordings.opening import (
    Camera,
    Clip,
    RecordingError,
    Sound,
    film,
    frames,
    one_frame,
    open_clip,
    read_sound,
    thuds,
)

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


def filmed(course: panels.Chosen, step: float) -> panels.FilmingForm:
    """Return a form with the marks of a film clicked, and the ball followed, in frames a `step` in s apart."""
    times = np.arange(0.0, 1.3, step)
    film(course.folder / "roll.mp4", np.array([0.3, 0.3]) + np.outer(1.4 * times - 0.31 * times**2, [1.0, 0.0]), times)
    form = panels.FilmingForm(course)
    form.open(course.folder / "roll.mp4")
    for right, down in PIXELS:
        form.click(right, down)
    form.follow()
    return form


@pytest.fixture
def course(tmp_path: Path) -> panels.Chosen:
    return panels.Chosen(name="ours", folder=make_course_folder(tmp_path / "ours", units="metres"), units="metres")


def test_a_film_of_few_frames_tells_all_but_its_speed(course: panels.Chosen) -> None:
    form = filmed(course, 0.2)
    assert "not known (the ball is found in 4 frames" in form.words.value
    assert not form.message.value
    form.time.value = 0.4
    assert "click it in more of them" in form.words.value


def test_a_roll_that_is_followed_again_is_not_added_again(course: panels.Chosen) -> None:
    form = filmed(course, 1 / 30)
    form.spot.value = "low"
    for said in ("rows of roll-1 added", "in the films already, as roll-1"):
        form.save()
        assert said in form.message.value
        form.follow()
    (course.folder / "films.csv").unlink()  # it was of another spot
    form.save()
    assert "rows of roll-2 added" in form.message.value


def test_two_shots_in_a_recording_are_told_where_they_are_taken_for_one() -> None:
    times, loud = [0.6, 1.7, 4.6, 5.75], [0.5, 0.3, 0.5, 0.3]
    onsets = find_onsets(Sound(rate=48000.0, signal=thuds(times, loud, duration=7.8, seed=5)))
    heard = heard_chip(onsets)
    assert heard.values["hang_time_s"] > 1.2
    assert "as clear a blow is heard before the strike, at 0.600 s" in " ".join(heard.notes)
    assert "before" not in " ".join(chosen_events(onsets, "chip", [0, 1]).notes)


def test_a_recorder_that_cuts_off_what_is_quiet_is_told() -> None:
    signal = thuds([0.6, 1.7, 1.95], [0.5, 0.3, 0.15], duration=2.8, seed=5)
    assert "cut off" not in " ".join(heard_chip(find_onsets(Sound(rate=48000.0, signal=signal))).notes)
    loud = np.convolve(np.abs(signal), np.ones(480) / 480, "same") > 0.03
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert "without noise suppression" in " ".join(
            heard_chip(find_onsets(Sound(rate=48000.0, signal=np.where(loud, signal, 0.0)))).notes
        )


@pytest.mark.parametrize(("codec", "rate"), [("pcm_mulaw", 8000), ("adpcm_ima_wav", 44100), ("pcm_u8", 22050)])
def test_wav_files_of_every_coding_are_read(codec: str, rate: int, tmp_path: Path) -> None:
    signal = thuds([0.5, 1.0, 1.3], [0.5, 0.3, 0.2], duration=2.0, rate=rate, seed=4)
    whole = av.AudioFrame.from_ndarray(signal[None, :].astype(np.float32), format="fltp", layout="mono")
    whole.sample_rate, whole.pts = rate, 0
    with av.open(str(tmp_path / "a.wav"), "w") as container:
        stream = container.add_stream(codec, rate=rate, layout="mono")
        size = stream.frame_size or 1024
        resampler = av.AudioResampler(format=stream.format.name, layout="mono", rate=rate, frame_size=size)
        for frame in [*resampler.resample(whole), *resampler.resample(None), None]:
            container.mux(stream.encode(frame))
    times = heard_drop(find_onsets(read_sound(tmp_path / "a.wav"))).values
    assert times["first_flight_s"] == pytest.approx(0.5, abs=0.003)


def roll_shown_as(change: Callable[[int, Any], Any], many: int, rate: int, folder: Path, monkeypatch: Any) -> Clip:
    """Film a roll of 1.2 m/s and have its frames, by number, changed as they are read; all of them are whole ones."""
    times = np.arange(many) / rate
    film(folder / "roll.mp4", np.array([0.3, 0.3]) + np.outer(1.2 * times - 0.2 * times**2, [1.0, 0.0]), times)

    def whole(clip: Clip, **_key_only: bool) -> Iterator[tuple[float, Any]]:
        for number, (time, grey) in enumerate(frames(clip)):
            yield time, change(number, grey)

    monkeypatch.setattr("golfphys.recordings.follow.frames", whole)
    return open_clip(folder / "roll.mp4")


def test_a_camera_is_seen_to_move_late_in_a_film_that_is_stored_frame_by_frame(
    tmp_path: Path, monkeypatch: Any
) -> None:
    def moved(number: int, grey: Any) -> Any:
        return np.roll(grey, 60 if number > 124 else 0, axis=1)

    clip = roll_shown_as(moved, 150, 60, tmp_path, monkeypatch)
    refused("phone on a stand", lambda: follow(clip, view_of(MARKS, PIXELS, SIZE)), RecordingError)


def test_the_balls_way_is_not_taken_for_the_cameras_in_smoothed_grass(tmp_path: Path, monkeypatch: Any) -> None:
    """As compression leaves it."""

    def smoothed(_number: int, grey: Any) -> Any:
        return np.where(grey > 140, grey, 92 + grey // 16).astype(np.uint8)

    clip = roll_shown_as(smoothed, 60, 30, tmp_path, monkeypatch)
    found = speed_at_start(follow(clip, view_of(MARKS, PIXELS, SIZE)))
    assert abs(found.value - 1.2) < 3 * found.sd


def test_a_recording_that_is_chosen_once_more_after_another_is_not_added_again(course: panels.Chosen) -> None:
    form = panels.ListeningForm(course)
    form.spot.value = "low"
    for name, said in (("a", "now in a new row"), ("b", "now in a new row"), ("a", "in the sheet already")):
        signal = thuds([0.6, 1.05 if name == "a" else 1.0, 1.2], [0.5, 0.3, 0.15], duration=2.0, seed=5)
        wavfile.write(course.folder / f"{name}.wav", 48000, signal)
        form.open(course.folder / f"{name}.wav")
        form.save()
        assert said in form.message.value
