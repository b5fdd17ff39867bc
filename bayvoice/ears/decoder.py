"""Exact best paths through a network over CTC emissions: the winner, the runner-up, and the free phone path."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bayvoice.ears.network import Network

Floats = NDArray[np.float32]
NOTHING = np.float32(-1e30)


@dataclass(frozen=True, slots=True)
class Spoken:
    """One word of a path: the variant, and the first and last frame its phones were emitted in."""

    variant: int
    word: str
    began: int
    ended: int


@dataclass(frozen=True, slots=True)
class Path:
    """A path through the network with its score in nats."""

    score: float
    spoken: tuple[Spoken, ...]

    @property
    def words(self) -> tuple[str, ...]:
        return tuple(one.word for one in self.spoken)


class Search:
    """One utterance against one network.

    Args:
        network: what may be said.
        emissions: (T, K) log scores of the K phones per frame, float32.
        blank: (T,) log score of blank per frame, float32.
    """

    def __init__(self, network: Network, emissions: Floats, blank: Floats) -> None:
        self._net = network
        self._emit = emissions
        self._blank = blank
        self._frames = len(emissions)
        self._silence = np.concatenate([[0.0], np.cumsum(blank, dtype=np.float64)]).astype(np.float32)
        self._forward()

    def _forward(self) -> None:
        """Fill `_ends` (T, A), best score ending in a variant's last state, and `_node` (T + 1, V), before frame t."""
        net, frames = self._net, self._frames
        phone = np.full(len(net.phone), NOTHING, dtype=np.float32)
        blank = phone.copy()
        enter = np.empty_like(phone)
        self._ends = np.empty((frames, len(net.last)), dtype=np.float32)
        self._lasts = np.empty((frames, len(net.last)), dtype=np.float32)
        self._node = np.full((frames + 1, net.nodes), NOTHING, dtype=np.float32)
        self._node[:, net.start] = self._silence
        for frame in range(frames):
            best = np.maximum(phone, blank)
            enter[1:] = best[:-1]
            enter[net.first] = self._node[frame][net.src] + net.cost
            np.maximum(phone, enter, out=phone)
            phone += self._emit[frame][net.phone]
            blank = best + self._blank[frame]
            self._lasts[frame] = phone[net.last]
            ends = np.maximum(self._lasts[frame], blank[net.last])
            self._ends[frame] = ends
            if len(ends):
                here = self._node[frame + 1]
                here[net.into_nodes] = np.maximum(here[net.into_nodes], np.maximum.reduceat(ends, net.into_starts))

    def score(self) -> float:
        """Score of the best path, nats."""
        return float(self._node[self._frames][self._net.finals].max(initial=NOTHING))

    def best(self) -> Path | None:
        """The best path of the grammar, None where it allows nothing in so few frames."""
        finals = self._node[self._frames][self._net.finals]
        if not self._frames or not len(finals) or finals.max() <= NOTHING / 2:
            return None
        node = int(self._net.finals[int(finals.argmax())])
        return Path(float(finals.max()), tuple(self._back(node, self._frames)))

    def _back(self, node: int, frame: int) -> list[Spoken]:
        """Words of the best way from the start to `node` before `frame`."""
        net, out = self._net, list[Spoken]()
        while not (node == net.start and self._node[frame, node] <= self._silence[frame]):
            if frame <= 0:
                break
            group = int(np.searchsorted(net.into_nodes, node))
            lo = int(net.into_starts[group])
            hi = int(net.into_starts[group + 1]) if group + 1 < len(net.into_starts) else len(net.last)
            variant = lo + int(self._ends[frame - 1, lo:hi].argmax())
            word = self._align(variant, frame)
            out.append(word)
            node, frame = int(net.src[variant]), word.began
        return out[::-1]

    def _align(self, variant: int, stop: int, only_phone: bool = False) -> Spoken:
        """When `variant` began and ended on the best way that leaves it before frame `stop`."""
        net = self._net
        labels = net.phones(variant)
        entry = self._node[:, net.src[variant]] + net.cost[variant]
        size = len(labels)
        phone = np.full(size, NOTHING, dtype=np.float32)
        blank = phone.copy()
        # Each state carries the frame its variant was entered in, and the last frame its phone was emitted in.
        began = np.zeros((2, size), dtype=np.int32)
        ended = np.zeros((2, size), dtype=np.int32)
        for frame in range(max(0, stop - 250), stop):
            take_blank = blank > phone
            best = np.where(take_blank, blank, phone)
            best_began = np.where(take_blank, began[1], began[0])
            best_ended = np.where(take_blank, ended[1], ended[0])
            enter = np.concatenate([entry[frame : frame + 1], best[:-1]])
            enter_began = np.concatenate([[frame], best_began[:-1]])
            stay = phone >= enter
            phone = np.where(stay, phone, enter) + self._emit[frame][labels]
            began = np.stack([np.where(stay, began[0], enter_began), best_began]).astype(np.int32)
            ended = np.stack([np.full(size, frame), best_ended]).astype(np.int32)
            blank = best + self._blank[frame]
        row = 1 if blank[-1] > phone[-1] and not only_phone else 0
        return Spoken(variant, net.words[variant], int(began[row, -1]), int(ended[row, -1]))

    def others(self, best: Path) -> Iterator[Path]:
        """Paths that hold at least one arc which `best` has not, best first: the first one is the exact runner-up.

        Each is the best path of the grammar through one such arc, so two of them may share words.
        """
        net = self._net
        marginal, when = self._marginals()
        used = {int(net.arc[one.variant]) for one in best.spoken}
        order = np.argsort(-marginal, kind="stable")
        seen = {best.words}
        for variant in order[:200]:
            if marginal[variant] <= NOTHING / 2:
                return
            if int(net.arc[variant]) in used:
                continue
            path = self._through(int(variant), int(when[variant]), float(marginal[variant]))
            if path.words not in seen:
                seen.add(path.words)
                yield path

    def _marginals(self) -> tuple[Floats, NDArray[np.int32]]:
        """(A,) score of the best path that uses each variant, and the frame it emits that variant's last phone in.

        Keeps the best way onwards from each node for `_through`.
        """
        net, frames = self._net, self._frames
        states = len(net.phone)
        final = np.full(net.nodes, NOTHING, dtype=np.float32)
        final[net.finals] = 0.0
        self._onward = np.full((frames + 1, net.nodes), NOTHING, dtype=np.float32)
        self._onward[frames] = final
        self._entering = np.empty((frames, len(net.last)), dtype=np.float32)
        phone = np.full(states, NOTHING, dtype=np.float32)
        blank = phone.copy()
        phone[net.last] = blank[net.last] = final[net.dst]
        marginal = self._lasts[frames - 1] + phone[net.last]
        when = np.full(len(net.last), frames - 1, dtype=np.int32)
        after = np.empty_like(phone)
        for frame in range(frames - 1, 0, -1):
            said = phone + self._emit[frame][net.phone]
            quiet = blank + self._blank[frame]
            self._leave(frame, said[net.first] + net.cost)
            after[:-1] = said[1:]
            after[net.last] = self._onward[frame][net.dst]
            blank = np.maximum(quiet, after)
            phone = np.maximum(said, blank)
            total = self._lasts[frame - 1] + phone[net.last]
            better = total > marginal
            marginal = np.where(better, total, marginal)
            when[better] = frame - 1
        self._leave(0, phone[net.first] + self._emit[0][net.phone[net.first]] + net.cost)
        return marginal, when

    def _leave(self, frame: int, entering: Floats) -> None:
        net = self._net
        self._entering[frame] = entering
        if len(entering):
            self._onward[frame][net.out_nodes] = np.maximum.reduceat(entering[net.out_order], net.out_starts)

    def _through(self, variant: int, frame: int, score: float) -> Path:
        """The best path that emits the last phone of `variant` in `frame` for the last time."""
        net = self._net
        word = self._align(variant, frame + 1, only_phone=True)
        before = self._back(int(net.src[variant]), word.began)
        return Path(score, (*before, word, *self._onwards(int(net.dst[variant]), frame + 1)))

    def _onwards(self, node: int, frame: int) -> list[Spoken]:
        """Words of the best way from `node` after `frame - 1` to the end."""
        net, out = self._net, list[Spoken]()
        final = set(net.finals.tolist())
        rest = self._silence[self._frames] - self._silence
        while True:
            # Blanks may pass before the next word begins; the best moment is where waiting plus going on is greatest.
            waits = self._silence[frame:] - self._silence[frame] + self._onward[frame:, node]
            stop = rest[frame] if node in final else NOTHING
            at = frame + int(waits[:-1].argmax()) if len(waits) > 1 else frame
            if at >= self._frames or stop >= waits[at - frame]:
                return out
            group = int(np.searchsorted(net.out_nodes, node))
            if group >= len(net.out_nodes) or net.out_nodes[group] != node:
                return out
            lo = int(net.out_starts[group])
            hi = int(net.out_starts[group + 1]) if group + 1 < len(net.out_starts) else len(net.out_order)
            choices = net.out_order[lo:hi]
            word = self._ahead(int(choices[self._entering[at][choices].argmax()]), at)
            out.append(word)
            node, frame = int(net.dst[word.variant]), word.ended + 1

    def _ahead(self, variant: int, began: int) -> Spoken:
        """`variant` entered in frame `began`, on the best way to the end."""
        net = self._net
        labels = net.phones(variant)
        size = len(labels)
        final = int(net.dst[variant]) in set(net.finals.tolist())
        phone = np.full(size, NOTHING, dtype=np.float32)
        blank = phone.copy()
        rest = self._silence[self._frames] - self._silence
        go = self._onward[:, net.dst[variant]]
        top, ended = float("-inf"), began
        ahead = np.maximum.accumulate((self._silence + go)[::-1])[::-1] - self._silence
        for frame in range(began, min(self._frames, began + 150)):
            best = np.maximum(phone, blank)
            enter = np.full(size, NOTHING, dtype=np.float32)
            enter[1:] = best[:-1]
            if frame == began:
                enter[0] = net.cost[variant]
            phone = np.maximum(phone, enter) + self._emit[frame][labels]
            blank = best + self._blank[frame]
            after = float(ahead[frame + 1])
            total = float(phone[-1]) + max(after, float(rest[frame + 1]) if final else float(NOTHING))
            if total > top:
                top, ended = total, frame
        return Spoken(variant, net.words[variant], began, ended)


def free_path(emissions: Floats, blank: Floats, bigram: Floats) -> Floats:
    """Best score of any phone sequence up to each frame.

    Args:
        emissions: (T, K); blank: (T,); bigram: (K + 1, K) log weights, row K for the first phone.

    Returns:
        (T + 1,) score of the best free path over the first t frames.
    """
    kinds = emissions.shape[1]
    phone = np.full(kinds, NOTHING, dtype=np.float32)
    quiet = phone.copy()
    out = np.zeros(len(emissions) + 1, dtype=np.float32)
    silence = np.float32(0.0)
    for frame, row in enumerate(emissions):
        best = np.maximum(phone, quiet)
        enter = np.maximum((best[:, None] + bigram[:kinds]).max(axis=0), silence + bigram[kinds])
        phone = np.maximum(phone, enter) + row
        quiet = best + blank[frame]
        silence += blank[frame]
        out[frame + 1] = max(phone.max(), quiet.max(), silence)
    return out


def forced(emissions: Floats, blank: Floats, labels: NDArray[np.int32]) -> float:
    """Score of saying exactly `labels`, the first beginning in the first frame.

    Args:
        emissions: (T, K); blank: (T,); labels: (n,) indices of phones.
    """
    phone = np.full(len(labels), NOTHING, dtype=np.float32)
    quiet = phone.copy()
    for frame, row in enumerate(emissions):
        best = np.maximum(phone, quiet)
        enter = np.concatenate([[np.float32(0.0) if frame == 0 else NOTHING], best[:-1]])
        phone = (np.maximum(phone, enter) + row[labels]).astype(np.float32)
        quiet = best + blank[frame]
    return float(max(phone[-1], quiet[-1]))
