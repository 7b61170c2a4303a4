"""Finding again: by lens, day, surgeon or number, and who received what is recalled. Patients stand in no address."""

from fastapi import APIRouter, Request

from zonule.store import FoundNote, Page
from zonule.web.api.responses import problems
from zonule.web.api.unit_models import FoundPage, FoundShown, LensSought, Recalled, RecallShown
from zonule.web.keeping import enter
from zonule.web.problems import ProblemError

router = APIRouter(tags=["finding"])


@router.post("/find", responses=problems())
def find(request: Request, sought: LensSought) -> FoundPage:
    """Notes by serial number, lot or model; by days and surgeon; or by hospital number."""
    page = _found(request, sought)
    enter(request, f"find.{sought.way}", "notes", count=len(page.items))
    return FoundPage(items=tuple(FoundShown.model_validate(held) for held in page.items), cursor=page.cursor)


@router.post("/recall", responses=problems())
def recall(request: Request, sought: Recalled) -> RecallShown:
    """Everyone who received a lot, serial number or model, whatever became of it."""
    found = request.app.state.store.find.recall(lot=sought.lot, serial=sought.serial, model=sought.model)
    enter(request, "recall", "notes", count=len(found))
    return RecallShown(count=len(found), items=tuple(FoundShown.model_validate(held) for held in found))


def _found(request: Request, sought: LensSought) -> Page[FoundNote]:
    store, rest = request.app.state.store.find, {"limit": sought.limit, "cursor": sought.cursor}
    match sought.way:
        case "lens":
            page: Page[FoundNote] = store.by_lens(sought.serial, sought.lot, sought.model, **rest)
        case "day":
            page = store.by_day(sought.first, sought.last, sought.surgeon, **rest)
        case "number":
            page = store.by_hospital_number(sought.hospital_number, **rest)
        case way:
            got = "none of them" if way == "none" else "more than one"
            sentence = f"Finding: expected lens, day and surgeon, or hospital number; got {got}; ask for one."
            raise ProblemError(422, sentence)
    return page
