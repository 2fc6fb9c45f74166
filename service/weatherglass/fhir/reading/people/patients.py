"""Who is meant by a reference: one key for one person, however a request calls them.

Nobody is merged with somebody else. A contained patient is known in its own resource
only. The same id on two servers is two people where the request says so: with two
Patient resources, or with a reference to another server than the Patient's own. Where
only references name servers, they are read as one person, and that is said.
"""

from collections.abc import Iterable, Mapping

from weatherglass.fhir.reading.people.addresses import patient_name, server_of, split_address, unversioned


class People:
    """The people of one request."""

    def __init__(self) -> None:
        """Know nobody."""
        self._keys: dict[str, str] = {}
        #: Short names that Patients of several servers have; the server of other Patients.
        self._several: set[str] = set()
        self._homes: dict[str, str] = {}
        #: Servers that references to somebody name.
        self._servers: dict[str, set[str]] = {}

    def know(self, key: str, names: Iterable[str], *, short: str, full_url: str | None, apart: bool) -> None:
        """Take in a Patient.

        Args:
            key: What the person is called here.
            names: What references may call the person.
            short: Type and id.
            full_url: Address of the Patient, when it has one.
            apart: Whether the short name is not this person's alone.
        """
        if apart:
            self._several.add(short)
        elif server := server_of(full_url):
            self._homes[short] = server
        for name in names:
            self._keys[name] = key

    def join(self, joined: Mapping[str, str]) -> None:
        """Let every name of some entries mean others, their own addresses too."""
        for name, key in self._keys.items():
            self._keys[name] = joined.get(key, key)
        self._keys.update(joined)

    def known(self, reference: str) -> str | None:
        """Return the key of a reference that has been resolved before."""
        return self._keys.get(reference)

    def key_of(self, reference: str, full_url: str | None) -> str:
        """Return the key of whom a reference means; empty when it means nobody.

        Args:
            reference: As it is written.
            full_url: Address of the entry it stands in.
        """
        key = self._keys.get(reference)
        if key is not None:
            return key
        name = unversioned(reference)
        key = self._keys.get(name)
        if key is None:
            short = patient_name(name)
            server = split_address(name)[0]
            if short in self._several and not server:
                # What it means depends on where it stands, so it is not remembered.
                return self._keys.get(f"{server_of(full_url)}/{short}", "")
            key = self._key_on(server, short, name)
        self._keys[reference] = key
        return key

    def _key_on(self, server: str, short: str, name: str) -> str:
        if not server or not short:
            return self._keys.get(short, short)
        if short in self._several:
            return self._keys.get(f"{server}/{short}", name)
        if self._homes.get(short, server) != server:
            return name  # The Patient that was sent is of another server, so this is somebody else.
        key = self._keys.get(short, short)
        self._servers.setdefault(key, set()).add(server)
        return key

    def why_nobody(self, reference: str) -> str:
        """Return the issue to write down of a reference that means nobody."""
        if reference.startswith("#"):
            return "patient-contained"
        if patient_name(unversioned(reference)) in self._several:
            return "patient-ambiguous"
        return "not-a-patient"

    def on_several_servers(self) -> list[tuple[str, int]]:
        """Return who was read as one person although references name several servers, and how many."""
        found = ((key, len(servers)) for key, servers in self._servers.items())
        return sorted((key, number) for key, number in found if number > 1)
