"""Which hospital a stay or a number is of, as far as the record tells one from another."""

from weatherglass.model.plain import Plain


class Hospital(Plain, frozen=True):
    """A hospital as the record names it; each part may be empty.

    Attributes:
        name: Its name, for display.
        reference: The address of its entry; one without a server begins with "/".
        number: A number of it, with its system.
    """

    name: str = ""
    reference: str = ""
    number: str = ""

    def is_other_than(self, other: "Hospital") -> bool:
        """Tell whether two are surely different: named in the same way, and not alike.

        Examples:
            >>> Hospital("North General").is_other_than(Hospital("South General"))
            True
            >>> Hospital("North General").is_other_than(Hospital(reference="/Organization/7"))
            False
            >>> Hospital(reference="/Org/7").is_other_than(Hospital(reference="ward.example/Org/7"))
            False
        """
        if self.reference and other.reference:
            one, another = self.reference, other.reference
            return not (one.endswith(another) or another.endswith(one))
        pairs = ((self.number, other.number), (self.name.casefold(), other.name.casefold()))
        return next((one != another for one, another in pairs if one and another), False)


NOT_NAMED = Hospital()
