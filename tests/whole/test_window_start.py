"""The real program opens its real window, drawn in memory, and closes it again."""

import os
import subprocess
import sys
from importlib import resources
from pathlib import Path

import pytest

from app import crash
from app.design.recovery import find_recoveries

ROOT = Path(__file__).resolve().parents[2]


def surroundings(home):
    return os.environ | {
        "QT_QPA_PLATFORM": "offscreen",
        "AXLEWRIGHT_HOME": str(home),
        "AXLEWRIGHT_QUIT_AFTER": "1",
    }


def start(home, *words, code=None):
    command = ["-c", code] if code else ["-m", "app.main"]
    return subprocess.run(
        [sys.executable, *command, *words],
        capture_output=True,
        text=True,
        timeout=120,
        env=surroundings(home),
        cwd=ROOT,
    )


def troubles(home):
    return [path.read_text(encoding="utf-8") for path in home.glob("trouble-*.txt")]


def test_a_first_start_opens_and_closes_in_peace(tmp_path):
    done = start(tmp_path)
    assert troubles(tmp_path) == []
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr


def test_a_chassis_opens_from_its_file(tmp_path):
    chassis = tmp_path / "dyke hauler é.json"
    sample = resources.files("sample_chassis").joinpath("dyke_hauler_eight.json")
    chassis.write_text(sample.read_text(encoding="utf-8"), encoding="utf-8")
    done = start(tmp_path / "home", str(chassis))
    assert troubles(tmp_path / "home") == []
    assert done.returncode == 0, done.stderr


def test_an_error_inside_the_window_ends_an_unwatched_start_with_its_own_code(tmp_path):
    code = (
        "import sys\n"
        "from app import main; from app.window import start as window_start\n"
        "class Broken(window_start.MainWindow):\n"
        "    def showEvent(self, event):\n"
        "        raise LookupError('broken on purpose')\n"
        "window_start.MainWindow = Broken\n"
        "sys.exit(main.main([]))\n"
    )
    done = start(tmp_path, code=code)
    assert done.returncode == 70
    assert "Traceback" not in done.stderr
    (details,) = troubles(tmp_path)
    assert "LookupError" in details
    assert "broken on purpose" in details


def test_an_unwatched_start_ends_without_a_question_after_an_edit(tmp_path):
    code = (
        "import sys\n"
        "from PySide6.QtCore import QTimer\n"
        "from app import main; from app.window import start as window_start\n"
        "class Edited(window_start.MainWindow):\n"
        "    def showEvent(self, event):\n"
        "        super().showEvent(event)\n"
        "        QTimer.singleShot(0, self, self.edit)\n"
        "    def edit(self):\n"
        "        assert self.document.edit('Rename', lambda design: design.edited(name='Other'))\n"
        "        assert self.document.modified and self.document.autosave()\n"
        "window_start.MainWindow = Edited\n"
        "sys.exit(main.main([]))\n"
    )
    done = start(tmp_path, code=code)
    assert troubles(tmp_path) == []
    assert done.returncode == 0, done.stderr
    assert list((tmp_path / "recovery").iterdir()) == []


def test_a_watched_start_with_a_file_offers_what_a_crash_left(tmp_path):
    chassis = tmp_path / "scout.json"
    sample = resources.files("sample_chassis").joinpath("marsh_scout_six.json")
    chassis.write_text(sample.read_text(encoding="utf-8"), encoding="utf-8")
    code = (
        "import os, sys\n"
        "from pathlib import Path\n"
        "from PySide6.QtWidgets import QApplication\n"
        "os.environ.pop('AXLEWRIGHT_QUIT_AFTER')\n"
        "from app.design import owner, recovery, samples\n"
        "recovery.write_recovery(recovery.recovery_folder(), 'lost', samples.sample_design('creek_tricycle'),"
        " Path(sys.argv[1]))\n"
        "owner._PROCESS = 'the next process'\n"
        "owner._this.cache_clear()\n"
        "from app import main; from app.window import file_actions as filing\n"
        "def ask(*words):\n"
        "    print('asked:', words[-1])\n"
        "    QApplication.instance().exit(0)\n"
        "    return 'later'\n"
        "filing.questions.ask_recover = ask\n"
        "sys.exit(main.main(sys.argv[1:]))\n"
    )
    done = start(tmp_path / "home", str(chassis), code=code)
    assert troubles(tmp_path / "home") == []
    assert done.returncode == 0, done.stderr
    assert "asked: It is later work on scout.json" in done.stdout


# Edits the chassis, opens a question where one is asked for, and says so.
EDITED = """
import os, sys
os.environ.pop("AXLEWRIGHT_QUIT_AFTER")
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QMessageBox
from app import main
from app.window import start as window_start
class Edited(window_start.MainWindow):
    def showEvent(self, event):
        super().showEvent(event)
        QTimer.singleShot(0, self, self.edit)
    def edit(self):
        assert self.document.edit("Rename", lambda design: design.edited(name="Other"))
        QTimer.singleShot(0, self, lambda: print("edited", flush=True))
        if "question" in sys.argv:
            QMessageBox.question(self, "Axlewright", "Whatever?")
window_start.MainWindow = Edited
sys.exit(main.main([]))
"""


@pytest.mark.skipif(not crash.REQUESTS_TO_STOP, reason="this system sends no such signals")
@pytest.mark.parametrize("number", crash.REQUESTS_TO_STOP)
@pytest.mark.parametrize("meanwhile", ["nothing", "question"])
def test_a_window_that_is_asked_to_stop_keeps_the_work_aside_and_goes(tmp_path, number, meanwhile):
    with subprocess.Popen(
        [sys.executable, "-c", EDITED, meanwhile],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=surroundings(tmp_path),
        cwd=ROOT,
    ) as program:
        assert program.stdout.readline() == "edited\n"
        assert find_recoveries(tmp_path / "recovery") == []
        program.send_signal(number)
        _, said = program.communicate(timeout=60)
    assert program.returncode == 128 + number
    assert [line for line in said.splitlines() if "propagateSizeHints" not in line] == []
    assert troubles(tmp_path) == []
    (found,) = find_recoveries(tmp_path / "recovery")
    assert found.design.name == "Other"
