"""What is wrong comes before what to do about the chart, also where a score beside the chosen one says it."""

from tests.medicines.wards import order, problem, result, reviewed
from tests.records import earlier


def test_platelets_that_fall_on_heparin_come_before_the_dose_that_waits() -> None:
    """Our choice; the score is the 4Ts (Lo 2006), here of 4 or more by the fall and a new clot."""
    clot = problem("Deep vein thrombosis", recordedDate=earlier("4 h"))
    heparin = {**order("Dalteparin 5000 units injection"), "authoredOn": earlier("8 d")}
    platelets = (result("platelets", "212", earlier("8 d")), result("platelets", "74"))
    lead = reviewed(*platelets, clot, heparin).reviews[0].lead
    assert lead is not None
    assert lead.brief.startswith("4Ts 4")
