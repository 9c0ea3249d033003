"""What routes are optimised for: named weights, each with its meaning."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class RouteWeights:
    """What is minimised: the sum of these, all in mm of one light wire.

    Weights are choices, not facts of the trade: common practice, no source.

    Attributes:
        wire: for each mm of each wire.
        current: added to `wire` for each ampere of the connection's weight, up to `most_current`;
            keeps heavy wires short.
        most_current: largest weight [A] that counts.
        opening: for each mm of plate on which a run lies, once, however many wires lie in it;
            makes wires gather.
        bend: for each bend of a run, once.
        bend_wire: for each bend of each wire.
        loop: for each mm that a wire runs `loop_reach` or more from its return, less when nearer:
            the area between the two, in units of mm x loop_reach.
        loop_reach: distance [mm] beyond which a wire's return counts as far away.
        noise: for each mm that audio or data runs right beside motor or driver wires, falling to
            nothing at the distance they should keep; crossing at right angles is free.
        aerial: times the length within an antenna's quarter wave, for wires that must end there.
        drilled_hole: for a drilled and grommeted hole, once, mm.
        plate_edge: for each wire round the plate's edge, mm.
        flat: for each mm of a run that stands flat in a narrow corridor instead of lying round.
        crowding: times the length where a run does not fit its corridor; grows with each round.
        rounds: how often every wire is taken up and laid again.
        exchanges: how often whole runs are taken up and laid again together.
        most_longer: how much longer all wires together may be than each by its shortest way.
        least_shared: how much less plate they are to cover together than by their shortest ways;
            openings are weighed more or less until both are kept.
        first_weighing: how many times more openings count when wires are first laid.
        weighings: how many other weights are tried, at most.
        closings: how many wires are laid, each round, to try what closing a run saves, at most.
    """

    wire: float = 1.0
    current: float = 0.06
    most_current: float = 20.0
    opening: float = 2.0
    bend: float = 2.0
    bend_wire: float = 1.0
    loop: float = 0.2
    loop_reach: float = 60.0
    noise: float = 0.6
    aerial: float = 6.0
    drilled_hole: float = 60.0
    plate_edge: float = 25.0
    flat: float = 1.0
    crowding: float = 8.0
    rounds: int = 1
    exchanges: int = 1
    closings: int = 250
    most_longer: float = 1.08
    least_shared: float = 0.31
    first_weighing: float = 8.0
    weighings: int = 4

    def per_mm(self, amps: float) -> float:
        """Cost of a mm of a wire whose connection weighs so much."""
        return self.wire + self.current * min(amps, self.most_current)
