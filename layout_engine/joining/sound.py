"""Player through an audio transformer to the amplifier, amplifier to the speakers."""

from __future__ import annotations

from collections.abc import Sequence

from layout_engine.joining.bench import Bench, by_role
from layout_engine.joining.pairing import Ends, is_free, match, rest
from layout_engine.model.part import Part
from layout_engine.model.part_type import PartType

NO_TRANSFORMER = (
    "There is no audio transformer between {player} and {amplifier}: their 0 V is joined twice, "
    "and the motors may be heard."
)


def wire_sound(bench: Bench) -> None:
    """Suggest the sound's way, as far as its pieces are in the job and free."""
    amplifiers = [(part, kind, amplifier_pairs(part, kind))
                  for part, kind in bench.parts("amplifier")]
    inputs = [pair for _, _, (ins, _) in amplifiers for pair in ins]
    sources = [pair for part, kind in bench.parts("audio_player") for pair in _pairs(part, kind)]
    transformers = [
        (part.title, (f"{part.id}.{a.from_}", f"{part.id}.{a.to}"),
         (f"{part.id}.{b.from_}", f"{part.id}.{b.to}"))
        for part, kind in bench.parts("audio_transformer") if len(kind.paths) == 2
        for a, b in (kind.paths,)
    ]
    _through(bench, sources, transformers, inputs)
    _speakers(bench, [(kind, pair) for _, kind, (_, outs) in amplifiers for pair in outs])


def _pairs(part: Part, kind: PartType) -> list[Ends]:
    ends = by_role(part, kind, "audio")
    return list(zip(ends[::2], ends[1::2], strict=False))


def amplifier_pairs(part: Part, kind: PartType) -> tuple[list[Ends], list[Ends]]:
    """Input and speaker pairs of an amplifier: the speaker's terminals carry the most current.

    Where the terminals' currents tell nothing, the pair whose second end is joined to the
    amplifier's own 0 V is the input.
    """
    pairs = _pairs(part, kind)
    own = {t.id: t.max_amps or 0.0 for t in kind.terminals}
    amps = [own[pair[0].partition(".")[2]] for pair in pairs]
    if len(set(amps)) > 1:
        most = max(amps)
        return ([p for p, a in zip(pairs, amps, strict=True) if a < most],
                [p for p, a in zip(pairs, amps, strict=True) if a == most])
    returns = {load.minus for load in kind.loads}
    grounded = {t for path in kind.paths if returns & {path.from_, path.to}
                for t in (path.from_, path.to)}
    ins = [p for p in pairs if p[1].partition(".")[2] in grounded]
    return (ins, [p for p in pairs if p not in ins]) if ins else ([], [])


def _through(bench: Bench, sources: list[Ends], transformers: Sequence[tuple[str, Ends, Ends]],
             inputs: list[Ends]) -> None:
    for title, near, far in transformers:
        for pair, entry in match(bench, sources, [near])[:1]:
            _lead(bench, pair, entry, f"{title} parts the 0 V of {bench.title(pair[0])} from that "
                  "of the amplifier, so that motor currents are not heard.")
        for pair, entry in match(bench, [far], inputs)[:1]:
            if not is_free(bench, near):
                _lead(bench, pair, entry, f"Behind {title} the sound goes to "
                      f"{bench.title(entry[0])}, which has no other wire to the player.")
    for pair, entry in match(bench, sources, inputs):
        if rest(bench, pair, entry):
            bench.lack(NO_TRANSFORMER.format(player=bench.title(pair[0]),
                                             amplifier=bench.title(entry[0])), pair[0], entry[0])
        _lead(bench, pair, entry,
              f"{bench.title(entry[0])} makes the sound of {bench.title(pair[0])} loud.")


def _speakers(bench: Bench, outs: list[tuple[PartType, Ends]]) -> None:
    """A speaker for each output; one of too few ohms is not suggested."""
    for part, kind in bench.parts("speaker"):
        for pair in _pairs(part, kind)[:1]:
            fit = [out for amplifier, out in outs if _is_loud_enough(kind, amplifier)]
            joined = match(bench, fit, [pair])
            if joined:
                bridged = any(a.amplifier is not None and a.amplifier.bridged
                              for a, out in outs if out == joined[0][0])
                _lead(bench, *joined[0],
                      "The speaker's two wires both go to the amplifier, neither to 0 V"
                      + (": its output is bridged." if bridged else "."))
            elif kind.speaker_ohms and is_free(bench, pair) and any(
                    is_free(bench, out) for _, out in outs):
                bench.lack(f"{part.title} has {kind.speaker_ohms:g} ohm, less than any free "
                           "amplifier output may have.", part.id)


def _is_loud_enough(speaker: PartType, amplifier: PartType) -> bool:
    least = amplifier.amplifier.min_ohms if amplifier.amplifier else None
    return least is None or speaker.speaker_ohms is None or speaker.speaker_ohms >= least


def _lead(bench: Bench, left: Ends, right: Ends, reason: str) -> None:
    for one, other in rest(bench, left, right):
        if bench.is_bare(one) and bench.is_bare(other):
            bench.join(one, other, "sound", reason)
