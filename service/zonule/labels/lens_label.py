"""What is printed or encoded on a lens label."""

from datetime import date
from typing import Annotated, Literal

from pydantic import StringConstraints

from zonule.record.facts import Frozen
from zonule.vocabulary import Eye

Printed = Annotated[str, StringConstraints(strip_whitespace=True, pattern=r"^[^\x00-\x1f\x7f]{1,200}$")]
Encoded = Annotated[str, StringConstraints(pattern=r"^[^\x00-\x1f\x7f]{1,500}$")]
MonthOrDay = Annotated[str, StringConstraints(pattern=r"^\d{4}-(0[1-9]|1[0-2])(-(0[1-9]|[12]\d|3[01]))?$")]
Issuer = Literal["gs1", "hibcc", "iccbba"]


class LensLabel(Frozen):
    """The identity of one lens as its label gives it, scanned or typed.

    `expiry_date` is ISO, a day or a month; `manufacture_date` a day. Powers in diopters. `udi` is the whole code as
    read, `device_identifier` its fixed part, `issuer` the agency whose format it follows. `notes` say what is odd about
    the code without making it unreadable.
    """

    manufacturer: Printed | None = None
    model: Printed | None = None
    power_d: float | None = None
    cylinder_d: float | None = None
    eye: Eye | None = None
    serial_number: Printed | None = None
    lot_number: Printed | None = None
    expiry_date: MonthOrDay | None = None
    manufacture_date: date | None = None
    udi: Encoded | None = None
    device_identifier: Printed | None = None
    issuer: Issuer | None = None
    notes: tuple[str, ...] = ()
