"""Makes the fixtures of the measured loss: a kettle that stands with the pump off, then its baths.

Run once by hand with scipy, beside `make_chill_fixtures.py`, whose integration
(DOP853 at a relative tolerance of 1e-10) and noise it shares. Each case stands
for ten minutes in the air, read as that begins and just before it ends, and goes through two or three
baths after that. The Cramer-Rao bounds are those of all the readings together,
with the loss by its stated prior and the wort's start unknown.

    python make_loss_fixtures.py values/
"""

import csv
import sys
from pathlib import Path

import numpy as np
from make_chill_fixtures import LOSS, LOSS_SE, NOISE, ROOM, WORT, chill

CASES = 160
SEED = 20_250_303
STANDS = 600.0


def through(start, capacity, stages, coils, loss, times):
    """Wort at `times`: standing in the room until `STANDS`, in the baths from then on."""
    alone = ROOM + (start - ROOM) * np.exp(-loss * times / capacity)
    at_bath = ROOM + (start - ROOM) * np.exp(-loss * STANDS / capacity)
    in_bath = chill(at_bath, capacity, stages, coils, loss, times)
    return np.where(times <= STANDS, alone, in_bath)


def bounds(start, capacity, stages, coils, loss, times):
    """Bounds of each coil, and of the loss by these readings and its prior."""
    def at(p):
        return through(p[0], capacity, stages, p[1:-1], p[-1], times)

    centre = np.array([start, *coils, loss])
    columns = []
    for j in range(len(centre)):
        step = np.zeros_like(centre)
        step[j] = 1e-4 * max(centre[j], 1.0)
        columns.append((at(centre + step) - at(centre - step)) / (2 * step[j]))
    jacobian = np.array(columns).T
    information = jacobian.T @ jacobian / NOISE**2
    read = np.sqrt(np.linalg.inv(information)[-1, -1])
    information[-1, -1] += LOSS_SE**-2
    return np.sqrt(np.diag(np.linalg.inv(information)))[1:-1], read


def one_case(rng):
    litres = rng.uniform(8, 40)
    coil = np.clip(rng.uniform(4, 9) * litres, 40.0, 260.0)
    water_at = rng.uniform(8, 20)
    stages, clock = [], STANDS
    for _ in range(int(rng.integers(2, 4))):
        lasts = 60.0 * rng.integers(7, 14)
        stages.append((clock, clock + lasts, rng.uniform(15, 30), water_at, 0.0))
        clock += lasts
    coils = [coil * rng.uniform(0.9, 1.1) for _ in stages]
    times, now = [0.0, STANDS - 5], STANDS + float(rng.integers(60, 121))
    while now < clock:
        times.append(now)
        now += float(rng.integers(60, 121))
    return litres * WORT, stages, coils, rng.uniform(90, 97), np.array(times)


def main(folder):
    rng = np.random.default_rng(SEED)
    cases = csv.writer(open(folder / "chill_loss_cases.csv", "w", newline=""), lineterminator="\n")
    series = csv.writer(open(folder / "chill_loss_readings.csv", "w", newline=""), lineterminator="\n")
    cases.writerow(["case", "loss_w_k", "loss_bound_w_k", "wort_j_k", "starts_s", "ends_s", "water_kg", "water_c",
                    "k_w_k", "bound_w_k"])
    series.writerow(["case", "time_s", "wort_c"])
    for case in range(CASES):
        capacity, stages, coils, start, times = one_case(rng)
        loss = float(np.clip(rng.normal(LOSS, LOSS_SE), 4.0, 16.0))
        of_coils, of_loss = bounds(start, capacity, stages, coils, loss, times)
        readings = through(start, capacity, stages, coils, loss, times) + rng.normal(0, NOISE, len(times))
        for (begin, end, water, at, _), coil, bound in zip(stages, coils, of_coils):
            cases.writerow([case, f"{loss:.4f}", f"{of_loss:.4f}", f"{capacity:.2f}", f"{begin:.0f}", f"{end:.0f}",
                            f"{water:.4f}", f"{at:.3f}", f"{coil:.4f}", f"{bound:.4f}"])
        for time, wort in zip(times, readings):
            series.writerow([case, f"{time:.0f}", f"{wort:.3f}"])


if __name__ == "__main__":
    main(Path(sys.argv[1]))
