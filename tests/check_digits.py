"""Check digits of the terminologies whose codes are used."""


def verhoeff_holds(digits: str) -> bool:
    """Check a SNOMED CT identifier by the dihedral group of order ten (Verhoeff 1969)."""

    def product(a: int, b: int) -> int:
        if a < 5:
            return (a + b) % 5 if b < 5 else 5 + (a + b) % 5
        return 5 + (a - b) % 5 if b < 5 else (a - b) % 5

    def turned(digit: int, times: int) -> int:
        for _ in range(times % 8):
            digit = (1, 5, 7, 6, 2, 8, 3, 0, 9, 4)[digit]
        return digit

    check = 0
    for place, digit in enumerate(reversed(digits)):
        check = product(check, turned(int(digit), place))
    return check == 0


def loinc_holds(code: str) -> bool:
    """Check a LOINC code's last digit (mod 10, as in the LOINC Users' Guide)."""
    body, _, check = code.partition("-")
    doubled = str(int(body[::-1][::2]) * 2) if body[::-1][::2].strip("0") else "0"
    total = sum(map(int, doubled + body[::-1][1::2]))
    return (10 - total % 10) % 10 == int(check)
