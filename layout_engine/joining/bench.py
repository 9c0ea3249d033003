"""The job as it would be with the suggestions made so far: room at terminals, what is one metal."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from layout_engine.disjoint import Sets
from layout_engine.joining.advice import Group, Lacking, Suggestion
from layout_engine.joining.open_terminals import are_alike, is_solid, same_metal, wires_at
from layout_engine.joining.terminal_names import end_name, split_end
from layout_engine.model.job import Job
from layout_engine.model.part import Part
from layout_engine.model.part_type import ConductingPath, Kind, PartType, Role, Terminal
from layout_engine.tables.sourced import COMMON_PRACTICE

SHORTED = ("Plus and 0 V are joined to each other by a wire that is there already: mend that "
           "first.")
POLES: frozenset[Role] = frozenset({"positive", "negative"})


class Bench:
    """A job and the wires suggested for it so far."""

    def __init__(self, job: Job) -> None:
        self.job = job
        self.made: list[Suggestion] = []
        self.lacking: list[Lacking] = []
        self._all = tuple((part, job.type_of(part)) for part in job.parts)
        self._of_kind: dict[str, list[tuple[Part, PartType]]] = {}
        for pair in self._all:
            self._of_kind.setdefault(pair[1].kind, []).append(pair)
        self._terminals = {f"{p.id}.{t.id}": t for p, k in self._all for t in k.terminals}
        self._wires = wires_at(job)
        self._unused = {f"{p.id}.{t}" for p in job.parts for t in p.unused}
        self._joined: dict[str, set[str]] = {}
        self.metal: Sets[str] = Sets()  # ends joined by wires, and inside modules by plain metal
        self.feeds: Sets[str] = Sets()  # the same through fuses and switches too
        self._nets: Sets[str] = Sets()  # the same between ends of all roles, to see shorts coming
        self._poles: dict[str, frozenset[Role]] = {}
        for part, kind in self._all:
            for path in kind.paths:
                self._conduct(f"{part.id}.{path.from_}", f"{part.id}.{path.to}", path)
        for wire in job.connections:
            self._tie(wire.from_, wire.to)

    def _conduct(self, a: str, b: str, path: ConductingPath) -> None:
        conducts = is_solid(path) or path.fuse is not None or path.switch
        if conducts:
            self._join_nets(a, b)
        if self.role(a) != self.role(b):
            return
        if is_solid(path):
            self.metal.join(a, b)
        if conducts:
            self.feeds.join(a, b)

    def _poles_at(self, end: str) -> frozenset[Role]:
        """Which poles of a supply are in the net of an end."""
        known = self._poles.get(self._nets.root(end))
        return known if known is not None else frozenset({self.role(end)} & POLES)

    def _join_nets(self, a: str, b: str) -> None:
        poles = self._poles_at(a) | self._poles_at(b)
        self._nets.join(a, b)
        self._poles[self._nets.root(a)] = poles

    def _tie(self, a: str, b: str) -> None:
        self.metal.join(a, b)
        self.feeds.join(a, b)
        self._join_nets(a, b)
        self._joined.setdefault(a, set()).add(b)
        self._joined.setdefault(b, set()).add(a)

    def parts(self, *kinds: Kind) -> Sequence[tuple[Part, PartType]]:
        """Parts of these kinds (none given: all) with their types, in the job's order."""
        if len(kinds) == 1:
            return self._of_kind.get(kinds[0], ())
        return [pair for pair in self._all if pair[1].kind in kinds] if kinds else self._all

    def terminal(self, end: str) -> Terminal:
        """The terminal of an end."""
        return self._terminals[end]

    def role(self, end: str) -> Role:
        """The role of an end."""
        return self.terminal(end).role

    def name(self, end: str) -> str:
        """The end as a person reads it."""
        return end_name(self.job, end)

    def title(self, end: str) -> str:
        """The module of an end by its name."""
        return self.job.part(split_end(end)[0]).title

    def room(self, end: str) -> int:
        """How many wires the terminal still takes; none where it is left open on purpose."""
        if end in self._unused:
            return 0
        return max(0, int(self.terminal(end).max_wires) - self._wires[end])

    def is_bare(self, end: str) -> bool:
        """Whether no wire is at the terminal and one may be."""
        return self._wires[end] == 0 and self.room(end) > 0

    def is_wired(self, end: str) -> bool:
        """Whether a wire is at the terminal, or at one as strong of the same metal in its module.

        A thin pin for the 0 V of a signal is the same metal as the screw for the return, but does
        not do for it; nor does the output of a converter for its input.
        """
        part_id, terminal_id = split_end(end)
        kind = self.job.type_of(part_id)
        own = kind.terminal(terminal_id).max_amps or 0.0
        twins = () if kind.converters else (
            t for t in same_metal(kind, terminal_id) if (kind.terminal(t).max_amps or own) >= own)
        return any(self._wires[f"{part_id}.{t}"] for t in (terminal_id, *twins))

    def joined_to(self, end: str) -> list[str]:
        """The far ends of the wires at an end."""
        return sorted(self._joined.get(end, ()))

    def wants(self, end: str) -> bool:
        """Whether a terminal that must be joined is not yet, and may be."""
        return not self.is_wired(end) and self.room(end) > 0

    def roomiest(self, ends: Iterable[str], amps: float = 0.0) -> str | None:
        """Of these ends the one with the fewest wires that takes one more, and the current.

        Where none is made for the current, one that is not; None where none has room.
        """
        free = [end for end in ends if self.room(end) > 0]
        able = [end for end in free if (self.terminal(end).max_amps or amps) >= amps]
        return min(able or free, key=lambda end: self._wires[end], default=None)

    def join(self, from_: str, to: str, group: Group, reason: str, label: str = "",
             source: str = COMMON_PRACTICE) -> bool:
        """Suggest a wire; False, and nothing suggested, where an end has no room for it.

        A wire between two roles is never suggested, nor one that would bring both poles of a
        supply together by wires that are there already, nor a second one between the same ends.
        """
        if from_ == to or to in self._joined.get(from_, ()):
            return False
        for end, other in ((from_, to), (to, from_)):
            if not self.room(end):
                self.lack(f"{self.name(end)} takes no further wire for {self.name(other)}.",
                          end, other)
                return False
        if not are_alike(self.role(from_), self.role(to)):
            return False
        poles = self._poles_at(from_), self._poles_at(to)
        if POLES in poles:
            self.lack(SHORTED)
            return False
        if poles[0] | poles[1] == POLES:
            self.lack(f"{self.name(from_)} and {self.name(to)} hang on different poles by wires "
                      "that are there already.", from_, to)
            return False
        self.made.append(Suggestion(from_, to, group, reason, source, label))
        self._wires[from_] += 1
        self._wires[to] += 1
        self._tie(from_, to)
        return True

    def lack(self, words: str, *ends_or_parts: str) -> None:
        """Say what is lacking, once."""
        entry = Lacking(words, tuple(dict.fromkeys(split_end(e)[0] for e in ends_or_parts)))
        if entry not in self.lacking:
            self.lacking.append(entry)


def by_role(part: Part, kind: PartType, *roles: Role) -> list[str]:
    """Ends of a part whose role is one of these, in the type's order."""
    return [f"{part.id}.{t.id}" for t in kind.terminals if t.role in roles]
