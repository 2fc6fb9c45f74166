"""What a site sends and what became of it, in plain text, with lines of policy to check and paste."""

import json
from collections.abc import Iterable, Iterator

from weatherglass.fhir.reading.coverage import CodeRow, Coverage, MedicineRow, system_name

_MOST = 60
_NOT_SHOWN = "no code that can be shown (none, or a word that one person has)"


def coverage_text(found: Coverage) -> str:
    """Write the whole report."""
    return "\n".join(_lines(found))


def _lines(found: Coverage) -> Iterator[str]:
    yield f"{found.patients:,} patient(s)."
    yield "\nResources"
    for kind, times, is_read in found.resources:
        yield f"  {times:>9,}  {kind}{'' if is_read else ': this type is not read'}"
    yield "\nCodes that are read (sent, used)"
    yield from _cut(f"  {row.times:>9,} {row.used:>9,}  {_named(row)}: {row.read_as}" for row in _read(found))
    yield "\nCodes that are not read"
    yield from _cut(_unread(row) for row in found.unread)
    yield "\nMedicines"
    yield from _cut(_medicine(row) for row in found.medicines)
    yield "\nWhat was not used, or used with a reservation"
    yield from _cut(f"  {times:>9,}  {key}: {text}" for key, text, times in found.reservations)
    yield from policy_lines(found)


def _read(found: Coverage) -> list[CodeRow]:
    return [row for row in found.codes if row.read_as]


def _named(row: CodeRow) -> str:
    sent = row.sent
    code = f"{system_name(sent.system)} {sent.code}" if sent.code else _NOT_SHOWN
    display = f' "{sent.display}"' if sent.display else ""
    return f"{code}{display}{f' in {sent.unit}' if sent.unit else ''}"


def _unread(row: CodeRow) -> str:
    words = f": its words name {row.words}" if row.words else ""
    return f"  {row.times:>9,}  {_named(row)}{words}"


def _medicine(row: MedicineRow) -> str:
    code = f"{system_name(row.system)} {row.code}" if row.code else "in words or by reference"
    return f"  {row.times:>9,}  {code}: {row.recognised or 'not recognised'}"


def _cut(lines: Iterable[str]) -> Iterator[str]:
    every = list(lines)
    yield from every[:_MOST] or ["  none"]
    if len(every) > _MOST:
        yield f"  and {len(every) - _MOST:,} more: --format json names all"


def coverage_json(found: Coverage) -> str:
    """Write the whole report for a program."""
    told = {
        "patients": found.patients,
        "resources": [{"type": kind, "times": n, "read": is_read} for kind, n, is_read in found.resources],
        "codes": [_code_json(row) for row in found.codes],
        "medicines": [row._asdict() for row in found.medicines],
        "reservations": [{"issue": key, "text": text, "times": n} for key, text, n in found.reservations],
    }
    return json.dumps(told, indent=2)


def _code_json(row: CodeRow) -> dict[str, object]:
    counted = {"readAs": row.read_as, "words": row.words, "times": row.times, "used": row.used}
    return {**row.sent._asdict(), **counted}


def policy_lines(found: Coverage) -> Iterator[str]:
    """Propose what a local policy may say of codes whose words name something that is read."""
    proposed: dict[tuple[str, str], CodeRow] = {}
    for row in found.unread:
        if row.words and row.sent.code and row.sent.system:
            proposed.setdefault((row.sent.system, row.sent.code), row)
    medicines = [row for row in found.medicines if row.code and row.system and not row.recognised]
    if not proposed and not medicines:
        return
    yield "\nFor the policy file, once somebody who knows the code has checked specimen, method and unit:\n"
    for (system, code), row in proposed.items():
        yield f"# {row.times:,} times{f', in {row.sent.unit}' if row.sent.unit else ''}"
        yield "[[local_codes]]"
        yield f"system = {json.dumps(system)}"
        yield f"code = {json.dumps(code)}"
        yield f"means = {json.dumps(row.words)}{f'  # {row.sent.display}' if row.sent.display else ''}"
        yield ""
    for medicine in medicines:
        yield f"# {medicine.times:,} times: write its generic names for the dots, and take the marks away"
        yield "# [[local_medicines]]"
        yield f"# system = {json.dumps(medicine.system)}"
        yield f"# code = {json.dumps(medicine.code)}"
        yield '# ingredients = ["..."]'
        yield ""
