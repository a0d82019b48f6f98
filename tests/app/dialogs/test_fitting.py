"""Windows fit the screen: none is larger than what is free, and the buttons stay in sight."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QRect

from app.dialogs.fitting import fitted

ROOT = Path(__file__).parents[3]
FREE = QRect(0, 0, 1024, 700)
places = st.builds(
    QRect,
    st.integers(-5_000, 5_000),
    st.integers(-5_000, 5_000),
    st.integers(1, 4_000),
    st.integers(1, 4_000),
)
screens = st.builds(
    QRect,
    st.integers(-3_000, 3_000),
    st.integers(-3_000, 3_000),
    st.integers(640, 3_000),
    st.integers(480, 3_000),
)


@given(places, screens)
def test_what_is_fitted_lies_within_and_is_shrunk_only_where_it_is_too_large(place, free):
    found = fitted(place, free)
    assert free.contains(found)
    assert found.width() == min(place.width(), free.width())
    assert found.height() == min(place.height(), free.height())


@given(places, screens)
def test_what_fits_already_stays_where_it_is(place, free):
    found = fitted(place, free)
    assert fitted(found, free) == found
    if free.contains(place):
        assert found == place


@pytest.mark.parametrize(
    ("place", "expected"),
    [
        ((0, 0, 1280, 760), (0, 0, 1024, 700)),
        ((2600, 300, 800, 600), (224, 100, 800, 600)),  # from a screen to the right that is gone
        ((-1900, -40, 800, 600), (0, 0, 800, 600)),  # from a screen to the left
        ((100, 50, 800, 600), (100, 50, 800, 600)),
    ],
)
def test_a_place_from_another_screen_is_brought_onto_this_one(place, expected):
    assert fitted(QRect(*place), FREE) == QRect(*expected)


_LOOK = """
import json, sys
from PySide6.QtCore import QPoint, QRect
from PySide6.QtWidgets import QAbstractButton, QDialogButtonBox
from app.window.start import make_application
application = make_application()
from app.design.samples import FIRST_SAMPLE, sample_design
from app.dialogs.controller_export import ControllerExportDialog
from app.dialogs.export import ExportDialog
from app.dialogs.fitting import FRAME
from app.dialogs.help import help_dialog, news_dialog
from app.dialogs.sharing import AdviceDialog
from app.document import Document
from app.settings import Settings
from app.window.main_window import MainWindow

design = sample_design(FIRST_SAMPLE)
free = application.primaryScreen().availableGeometry()
found = {"screen": [free.width(), free.height()]}
geometry = ""
if sys.argv[1] == "elsewhere":
    import base64
    first = MainWindow(Document(design), Settings())
    first.setGeometry(1500, 900, 1700, 1000)
    geometry = base64.b64encode(first.saveGeometry().data()).decode()
    first.document.close()
document = Document(design)
window = MainWindow(document, Settings(window_geometry=geometry))
window.show()
application.processEvents()
outer = window.geometry().marginsAdded(FRAME)
found["window"] = free.contains(outer)
found["window least"] = free.size().shrunkBy(FRAME).width() >= window.minimumSizeHint().width() and (
    free.size().shrunkBy(FRAME).height() >= window.minimumSizeHint().height())
dialogs = {
    "code": ControllerExportDialog(window, design, "micropython", lambda *_: True),
    "table": ExportDialog(window, design, 201),
    "sharing": AdviceDialog(window, design),
    "help": help_dialog(window),
    "news": news_dialog(window),
}
for name, dialog in dialogs.items():
    dialog.show()
    for _ in range(40):
        application.processEvents()
    while getattr(dialog, "working", False):
        application.processEvents()
    application.processEvents()
    box = dialog.findChild(QDialogButtonBox)
    buttons = [QRect(b.mapToGlobal(QPoint()), b.size()) for b in box.buttons()]
    found[name] = free.contains(dialog.geometry()) and all(map(free.contains, buttons)) and all(
        dialog.geometry().contains(button) for button in buttons)
    dialog.done(0)
window.close()
document.close()
print(json.dumps(found))
"""


@pytest.mark.parametrize("saved", ["none", "elsewhere"])
@pytest.mark.parametrize(("width", "height"), [(1024, 700), (960, 540), (1280, 720)])
def test_window_and_dialogs_fit_a_small_screen(tmp_path, width, height, saved):
    screen = {"name": "small", "x": 0, "y": 0, "width": width, "height": height}
    screen |= {"logicalDpi": 96, "logicalBaseDpi": 96, "dpr": 1}
    config = tmp_path / "screen.json"
    config.write_text(json.dumps({"screens": [screen]}))
    env = os.environ | {
        "QT_QPA_PLATFORM": f"offscreen:configfile={config}",
        "AXLEWRIGHT_HOME": str(tmp_path),
        "PYTHONPATH": str(ROOT),
    }
    done = subprocess.run(
        [sys.executable, "-c", _LOOK, saved], cwd=ROOT, env=env, capture_output=True, text=True, timeout=120
    )
    assert done.returncode == 0, done.stderr
    found = json.loads(done.stdout)
    assert found.pop("screen") == [width, height]
    assert [name for name, fits in found.items() if not fits] == []
