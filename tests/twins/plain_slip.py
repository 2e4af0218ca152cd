"""Which edges slip, and how fast, in plain Python: guesses corrected until they stand.

Span i (0 .. n) has tension T_i; edge j (1 .. n) lies between spans j-1 and j; q_j is the rate at
which material crosses it, positive toward the load.
"""

from __future__ import annotations

from dataclasses import dataclass

TENSION_SHARE = 1e-12
"""A slip condition holds within this share of the tensions beside the edge."""
LIMP_N = 1e-9
"""A span counts as without tension below minus this [N], so that T = 0 as a bound is not."""
SAME_RATE = 1e-12
"""Rates that differ by less, relative to the largest (at least 1 mm/s), are the same."""
Problem = tuple[list[float], list[float], float, bool]
"""Tensions at rest, their slopes, the nominal rate of taking in, whether legs limit it."""


def solve_dense(matrix: list[list[float]], right: list[float]) -> list[float]:
    """Gaussian elimination without pivots; good for M-matrices."""
    size = len(right)
    rows = [[*row, value] for row, value in zip(matrix, right, strict=True)]
    for k in range(size):
        for i in range(k + 1, size):
            factor = rows[i][k] / rows[k][k]
            if factor != 0.0:
                for c in range(k, size + 1):
                    rows[i][c] -= factor * rows[k][c]
    found = [0.0] * size
    for k in reversed(range(size)):
        known = sum(rows[k][c] * found[c] for c in range(k + 1, size))
        found[k] = (rows[k][size] - known) / rows[k][k]
    return found


@dataclass
class Friction:
    """The edges of a line by their capstan ratios exp(mu*theta), and what legs can lift."""

    ratios: list[float]
    weight_n: float  # of the person
    most_n: float  # tension at which a rise stops

    @property
    def count(self) -> int:
        """Edges."""
        return len(self.ratios)

    def share_lifted(self, tension_n: float) -> float:
        """Share of the nominal rate that legs still manage against a tension."""
        return min(max((self.most_n - tension_n) / (self.most_n - self.weight_n), 0.0), 1.0)

    def last_tension(self, x: float, b: float, take: float, limited: bool) -> tuple[float, float]:
        """Tension of the last span and its slope by x, the tension with a device that stands.

        T = x + b*(rate of taking in); in a rise that rate falls with T by `share_lifted`.
        """
        tension, slope = x + b * take, 1.0
        weight_n, most_n = self.weight_n, self.most_n
        if limited and x >= most_n:
            tension = x
        elif limited and tension > weight_n:
            per_newton = b * take / (most_n - weight_n)
            slope = 1.0 / (1.0 + per_newton)
            tension = (x + per_newton * most_n) * slope
        if tension < -LIMP_N:
            return 0.0, 0.0
        return max(tension, 0.0), slope

    def tensions(
        self, a: list[float], b: list[float], q: list[float], take: float, limited: bool
    ) -> tuple[list[float], list[float]]:
        """Tensions at slip rates q_0 .. q_n, and how steeply each falls with the rate out of it."""
        n = self.count
        tension, steep = [], []
        for i in range(n):
            x = a[i] - b[i] * (q[i] - q[i + 1])
            tension.append(max(x, 0.0))
            steep.append(b[i] if x >= -LIMP_N else 0.0)
        last, slope = self.last_tension(a[n] - b[n] * q[n], b[n], take, limited)
        return [*tension, last], [*steep, b[n] * slope]

    def rates(
        self, a: list[float], b: list[float], feed: float, take: float, limited: bool
    ) -> tuple[list[float], list[float]]:
        """Rates q_0 .. q_n that keep every edge inside its friction, and the tensions with them.

        T_i = a_i - b_i*(q_i - q_(i+1)). Guess which edges slip and which way, solve the linear
        equations, look again, until the guess stands. Correcting every edge at once can go round
        in circles where friction pulls both ways; then the edges that slip toward the anchor are
        guessed apart from the others, which are settled first every time.
        """
        n = self.count
        problem = (a, b, take, limited)
        settled, q, tension, modes = self._settle([feed] + [0.0] * n, problem, None)
        if settled:
            return q, tension
        back: set[int] = set()
        for _ in range(20 * n):
            settled, q, tension, modes = self._settle(q, problem, back)
            found = {j for j in range(1, n + 1) if modes[j - 1] < 0}
            if settled and found == back:
                return q, tension
            back = found
        raise ArithmeticError("no set of slipping edges stands")

    def _settle(
        self, q: list[float], problem: Problem, back: set[int] | None
    ) -> tuple[bool, list[float], list[float], list[int]]:
        """Correct guesses until they stand; `back` holds the edges that slip toward the anchor.

        None: any edge may. Returns whether they stand, rates, tensions, and what each edge wants.
        """
        a, b, take, limited = problem
        n = self.count
        modes: list[int] = []
        pieces: list[float] = []
        same = False
        for _ in range(n + 10):
            tension, steep = self.tensions(a, b, q, take, limited)
            wanted = [self._mode(j, q, tension, steep) for j in range(1, n + 1)]
            seen = wanted
            if back is not None:
                seen = [-1 if j in back else max(wanted[j - 1], 0) for j in range(1, n + 1)]
            now = [*steep, tension[n] >= self.most_n]
            if same or (seen == modes and now == pieces):
                return True, q, tension, wanted
            modes, pieces = seen, now
            before, q = q, [q[0], *self._solve(modes, q, tension, steep)]
            change = max(abs(x - y) for x, y in zip(q, before, strict=True))
            same = change <= SAME_RATE * (1e-3 + max(abs(x) for x in q[1:]))
        return False, q, tension, wanted

    def _mode(self, j: int, q: list[float], tension: list[float], steep: list[float]) -> int:
        """1: slips toward the load, -1: toward the anchor, 0: holds."""
        before, after = tension[j - 1], tension[j]
        ratio = self.ratios[j - 1]
        slack_n = TENSION_SHARE * (1.0 + before + after)
        if q[j] * (ratio * steep[j - 1] + steep[j]) - (ratio * before - after) > slack_n:
            return 1
        if q[j] * (steep[j - 1] + ratio * steep[j]) - (before - ratio * after) < -slack_n:
            return -1
        return 0

    def _solve(
        self, modes: list[int], q: list[float], tension: list[float], steep: list[float]
    ) -> list[float]:
        """Rates at which each slipping edge has its capstan ratio, tensions taken as lines."""
        n = self.count
        matrix = [[0.0] * n for _ in range(n)]
        right = [0.0] * n
        for j in range(1, n + 1):
            row = matrix[j - 1]
            ratio = self.ratios[j - 1]
            # of T_j = ratio*T_(j-1), or of T_(j-1) = ratio*T_j
            upper, lower = (1.0, ratio) if modes[j - 1] > 0 else (ratio, 1.0)
            own = lower * steep[j - 1] + upper * steep[j]
            if modes[j - 1] == 0 or own <= 0.0:
                row[j - 1] = 1.0
                continue
            row[j - 1] = own
            gap = upper * tension[j] - lower * tension[j - 1]
            # tensions at zero rates, by the slopes at the present ones
            gap += upper * steep[j] * ((q[j] - q[j + 1]) if j < n else q[j])
            gap -= lower * steep[j - 1] * (q[j - 1] - q[j])
            if j > 1:
                row[j - 2] = -lower * steep[j - 1]
            else:
                gap += lower * steep[0] * q[0]
            if j < n:
                row[j] = -upper * steep[j]
            right[j - 1] = gap
        return solve_dense(matrix, right)
