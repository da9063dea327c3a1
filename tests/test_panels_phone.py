"""The forms that turn the phone's recordings and films into rows."""

from pathlib import Path

import numpy as np
import pytest
from scipy.io import wavfile

from golfphys import append_rows, make_course_folder, new_sheet, panels, read_chips, read_drops, read_films
from golfphys.panels import panel
from golfphys.recordings.made import Camera, film, thuds
from golfphys.recordings.opening import RecordingError

RATE = 48000


@pytest.fixture
def course(tmp_path: Path) -> panels.Chosen:
    new_sheet(tmp_path / "chips.csv", "chips", units="metres", reference_line="to the barn")
    append_rows(
        tmp_path / "chips.csv",
        [{"club": "sand wedge", "lie": "fairway", "spot": "low", "heading_deg": 0, "carry_m": 6.1, "rest_m": 9.0}],
        kind="chips",
    )
    return panels.Chosen(name="ours", folder=tmp_path, units="metres")


def recording(folder: Path, times: list[float]) -> Path:
    path = folder / "heard.wav"
    signal = thuds(times, [0.5, 0.3, 0.15], duration=times[-1] + 0.8, seed=5)
    wavfile.write(path, RATE, (signal * 20000).astype(np.int16))
    return path


def test_a_drop_that_was_heard_becomes_a_row_in_the_unit_of_the_course(course: panels.Chosen) -> None:
    form = panels.ListeningForm(course)
    form.open(recording(course.folder, [0.6, 1.05, 1.25]))
    assert "first flight" in form.words.value
    assert form.image.value
    form.spot.value = "low"
    form.save()
    drops = read_drops(course.folder / "drops.csv").frame
    assert drops["first_flight"].iloc[0] == pytest.approx(0.45, abs=0.002)
    assert drops["second_flight"].iloc[0] == pytest.approx(0.2, abs=0.002)
    ours = make_course_folder(course.folder / "ours", units="feet")
    form = panels.ListeningForm(panels.Chosen(name="ours", folder=ours, units="feet"))
    assert [form.height.description, form.places[0].description] == ["dropped from (ft)", "from phone to strike (ft)"]
    form.height.value, form.spot.value = 6.0, "low"
    form.open(course.folder / "heard.wav")
    form.save()
    assert "6" in (ours / "drops.csv").read_text().splitlines()[-1].split(",")
    assert "now in a new row of" in form.message.value


def test_times_of_a_chip_go_into_its_row(course: panels.Chosen) -> None:
    form = panels.ListeningForm(course)
    form.kind.value = "chip"
    form.places[0].value = 7.8
    form.open(recording(course.folder, [0.6, 1.7, 1.95]))
    form.save()
    chips = read_chips(course.folder / "chips.csv").frame
    assert chips["hang_time"].iloc[0] == pytest.approx(1.1 + 6.8 / 340.3, abs=0.003)
    assert chips["hop_time"].iloc[0] == pytest.approx(0.25, abs=0.003)
    assert chips["rest"].iloc[0] == 9.0
    assert "now in row 1 of" in form.message.value


def test_what_was_heard_can_be_moved_and_rejected(course: panels.Chosen) -> None:
    form = panels.ListeningForm(course)
    form.open(recording(course.folder, [0.6, 1.05, 1.25]))
    before = form.heard()
    form.moves[1].value = 10.0
    form.events[2].value = -1
    after = form.heard()
    assert before is not None
    assert after is not None
    assert after.values["first_flight_s"] - before.values["first_flight_s"] == pytest.approx(0.010)
    assert "second_flight_s" not in after.values
    form.events[1].value = -1
    form.save()
    assert "Pick at least" in form.message.value


def test_a_file_that_is_no_recording_is_answered_in_words(course: panels.Chosen) -> None:
    form = panels.ListeningForm(course)
    path = course.folder / "odd.wav"
    path.write_bytes(b"nothing")
    form.open(path)
    assert "cannot be read" in form.message.value
    assert form.heard() is None


def test_a_film_becomes_rows(course: panels.Chosen) -> None:
    times = np.arange(0.0, 1.2, 1 / 30)
    way = 1.5 * times - 0.3 * times**2
    places = np.array([0.3, 0.3]) + np.stack([way, 0.05 * way], axis=1)
    path = course.folder / "roll.mp4"
    camera = film(path, places, times, camera=Camera())
    form = panels.FilmingForm(course)
    form.open(path)
    assert "near left" in form.words.value
    form.follow()
    assert "four marks first" in form.message.value
    for place in ((0.0, 0.0), (3.0, 0.0), (3.0, 1.0), (0.0, 1.0)):
        form.click(*(float(value) for value in camera.project(np.array([*place, 0.0]))))
    form.follow()
    assert "Speed at the first" in form.words.value, form.message.value
    form.spot.value = "low"
    form.save()
    frames = read_films(course.folder / "films.csv").frame
    assert np.ptp(frames["distance"]) == pytest.approx(way[-1] * np.hypot(1, 0.05), rel=0.02)
    form.click(10.0, 10.0)
    assert len(form.by_hand) == 1
    form.take_back()
    form.take_back()
    assert not form.by_hand
    assert len(form.marks) == 3


def test_a_film_that_is_none_is_answered_in_words(course: panels.Chosen) -> None:
    form = panels.FilmingForm(course)
    form.open(recording(course.folder, [0.6, 1.05, 1.25]))
    assert "no picture" in form.message.value
    form.save()
    assert "followed first" in form.message.value


def test_a_recording_that_cannot_be_used_is_said_beside_the_button_that_asked_for_it() -> None:
    """It is no fault of the program, and the button works again."""

    class Listener(panel.Form):
        @panel.asked()
        def hear(self) -> int:
            raise RecordingError("the recording is silent; check the microphone's permission")

    form = Listener()
    form.button = panel.button("Put it in", form.hear)
    form.button.click()
    message = form.message
    assert "microphone&#x27;s permission" in message.value
    assert "fault" not in message.value
    assert not form.button.disabled
