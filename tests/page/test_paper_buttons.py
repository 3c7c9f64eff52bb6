"""Files to save from the page of the round."""

from __future__ import annotations

from types import ModuleType
from typing import Any

import pypdfium2 as pdfium
import pytest
from streamlit.testing.v1 import AppTest

from planner.page import paper_buttons
from planner.report.imposition import PAPERS


def app(unit: str) -> None:
    from planner.course.reading import read_course
    from planner.demo_data import DEMO_COURSE, demo_bag, demo_folder
    from planner.golfer.bag import read_bag
    from planner.page.paper_buttons import paper_buttons
    from planner.planning.request import PlanRequest
    from planner.units import DistanceUnit

    import page_stand_in  # type: ignore[import-not-found]  # isort: skip

    course = read_course(demo_folder() / DEMO_COURSE)
    request = PlanRequest(course, read_bag(demo_bag("odile")), tee="red")
    paper_buttons(page_stand_in.plan_round(request), DistanceUnit(unit))


@pytest.fixture
def offered(monkeypatch: pytest.MonkeyPatch, stand_in: ModuleType) -> list[Any]:
    """What each button would make, name and maker, as handed to the page."""
    found: list[Any] = []
    real = paper_buttons.st.download_button

    def note(label: str, data: Any, file_name: str, mime: str, **options: Any) -> bool:
        found.append((label, data, file_name, mime))
        return bool(real(label, data, file_name, mime, **options))

    monkeypatch.setattr(paper_buttons.st, "download_button", note)
    return found


def test_card_and_sheet_can_be_saved(offered: list[Any]) -> None:
    page = AppTest.from_function(app, args=("yards",), default_timeout=60).run()
    assert not page.exception
    assert [name for _, _, name, _ in offered] == [
        "Tarrowick Links card.pdf",
        "Tarrowick Links leaves.pdf",
        "Tarrowick Links sheet.pdf",
    ]
    sizes = [PAPERS["a4"], (306.0, 504.0), PAPERS["a4"]]
    for (_, make, _, mime), size in zip(offered, sizes, strict=True):
        document = pdfium.PdfDocument(make())
        assert mime == "application/pdf"
        assert document[0].get_size() == pytest.approx(size, abs=0.01)
        text = " ".join(page.get_textpage().get_text_range() for page in document)
        assert " yd" in text.replace("\u00a0", " ")


def test_paper_can_be_chosen(offered: list[Any]) -> None:
    page = AppTest.from_function(app, args=("metres",), default_timeout=60).run()
    offered.clear()
    page.segmented_control(key="paper").set_value("letter").run()
    assert not page.exception
    (_, make, _, _) = offered[0]
    assert pdfium.PdfDocument(make())[0].get_size() == pytest.approx(PAPERS["letter"])
