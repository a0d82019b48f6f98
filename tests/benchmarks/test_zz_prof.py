import cProfile,pstats,io,time,statistics,os,gc
import pytest
from app.settings import Settings
from PySide6.QtWidgets import QApplication
from tests.benchmarks import test_drag_benchmark as B
from tests.benchmarks.test_drag_benchmark import make_window, make_document, answers, home, _no_modal_dialogs, _nothing_left_alive
@pytest.mark.parametrize("case", list(B.CASES))
@pytest.mark.parametrize("panel", ["wheel","plot","working"])
def test_prof(make_window, make_document, case, panel, capsys):
    design = B.CASES[case][0]
    window = make_window(make_document(design), Settings(full_circles=True, welcome_dismissed=True))
    window.resize(1280, 800)
    try:
        from app.design.references import references_to
        window.document.select(references_to("wheel", {0})); window.go_to(panel)
    except ImportError:
        window.document.select({0}); window._go_to(window.docks[{"wheel":1,"plot":4,"working":5}[panel]])
    QApplication.processEvents()
    window.activateWindow(); QApplication.processEvents()
    drag = B.Drag(window)
    for _ in range(30): drag.step()
    t=[]
    for _ in range(10):
        c=time.process_time()
        for _ in range(15): drag.step()
        t.append((time.process_time()-c)/15*1000)
    drag.finish()
    with capsys.disabled(): print('\n##',case,'|',panel,'|',min(t))
