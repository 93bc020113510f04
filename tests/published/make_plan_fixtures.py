"""Makes the fixtures of the chill plan: least times found without our closed forms.

Run once by hand with scipy; the test reads the file it leaves in `values/`. The
two-lump heat balance of a coil in a bath (Kern, Process Heat Transfer, ch. 18)
is stepped by Runge-Kutta, the kettle losing heat to the room all the while, ice
by the bath's enthalpy; the change times are found by scipy's differential
evolution, a global search that knows nothing of the problem, and finished by
ever closer random tries about the best. Every row is also tried with one bath left out.

    python make_plan_fixtures.py values/
"""

import csv
import sys
from pathlib import Path

import numpy as np
from scipy.optimize import differential_evolution

WATER, ICE_LATENT, WORT = 4186.0, 333_430.0, 1.0464 * 3940.0
ROOM, LOSS = 20.0, 10.0
CASES, SEED, LONGEST = 10, 20_261_125, 4200.0


def least_time(stays, case, step):
    """Seconds to the target for each column of stays; beyond LONGEST by how far off."""
    stays = np.atleast_2d(stays.T).T if stays.ndim == 1 else stays
    n = stays.shape[1]
    capacity = case["litres"] * WORT
    mass = np.array([water + ice for water, _, ice in case["baths"]])
    heat = np.array([[water * WATER * at - ice * ICE_LATENT] * n for water, at, ice in case["baths"]])
    last = len(mass) - 1
    starts = np.vstack([np.zeros(n), np.cumsum(stays + case["change"], axis=0)])
    ends = np.vstack([np.cumsum(stays + case["change"], axis=0) - case["change"], np.full(n, np.inf)])
    wort, found = np.full(n, case["from"]), np.full(n, np.inf)
    columns = np.arange(n)
    for clock in np.arange(0.0, LONGEST, step):
        bath = np.clip((starts <= clock).sum(axis=0) - 1, 0, last)
        coil = np.where(clock < ends[bath, columns], case["coil"], 0.0)

        def slopes(w, h):
            cold = np.maximum(h, 0.0) / (mass[bath] * WATER)
            through = coil * (w - cold)
            return (-through - LOSS * (w - ROOM)) / capacity, through

        h = heat[bath, columns]
        a1, b1 = slopes(wort, h)
        a2, b2 = slopes(wort + step / 2 * a1, h + step / 2 * b1)
        a3, b3 = slopes(wort + step / 2 * a2, h + step / 2 * b2)
        a4, b4 = slopes(wort + step * a3, h + step * b3)
        after = wort + step / 6 * (a1 + 2 * a2 + 2 * a3 + a4)
        heat[bath, columns] = h + step / 6 * (b1 + 2 * b2 + 2 * b3 + b4)
        crosses = (wort > case["target"]) & (after <= case["target"]) & np.isinf(found)
        found[crosses] = clock + step * (wort - case["target"])[crosses] / (wort - after)[crosses]
        wort = after
        if np.isfinite(found).all():
            break
    return np.where(np.isfinite(found), found, LONGEST * (1.0 + np.maximum(wort - case["target"], 0.0)))


def best(case, seed):
    changes = len(case["baths"]) - 1
    if changes == 0:
        return float(least_time(np.zeros((0, 1)), case, 1.0)[0])
    bounds = [(10.0, 1500.0)] * changes
    rough = differential_evolution(lambda x: least_time(x, case, 10.0), bounds, rng=seed, vectorized=True,
                                   updating="deferred", popsize=10, maxiter=30, polish=False, tol=1e-5)
    random, at, time = np.random.default_rng(seed), rough.x, np.inf
    for reach in (60.0, 20.0, 7.0):
        tries = np.clip(at[:, None] + random.normal(0.0, reach, (changes, 48)), 0.0, None)
        tries[:, 0] = at
        times = least_time(tries, case, 1.0)
        at, time = tries[:, times.argmin()], min(time, times.min())
    return float(time)


def main(folder):
    random = np.random.default_rng(SEED)
    rows = []
    while len(rows) < CASES:
        tap = round(random.uniform(8, 17), 1)
        litres = round(random.uniform(8, 30), 1)
        bucket = round(random.uniform(0.7, 1.1) * litres, 1)
        plain = int(random.integers(1, 4))
        baths = [(bucket, tap, 0.0)] * plain + [(round(bucket * 0.5, 1), tap, round(litres * random.uniform(0.12, 0.3), 1))]
        case = {"litres": litres, "from": 97.0, "target": round(random.uniform(18, 24), 1), "change": 60.0,
                "coil": round(litres * random.uniform(4.5, 8.0)), "baths": baths}
        fewer = [dict(case, baths=baths[:i] + baths[i + 1:]) for i in range(plain > 0 and len(baths) or 0)]
        time = min(best(one, SEED) for one in [case, *fewer] if one["baths"])
        if time < LONGEST:
            row = [litres, case["from"], case["target"], case["coil"], bucket, plain, *baths[-1], round(time, 1)]
            rows.append(row)
            print(row, flush=True)
    with open(Path(folder) / "chill_plan_cases.csv", "w", newline="") as file:
        file.write("# Made by make_plan_fixtures.py: scipy's differential evolution over Runge-Kutta.\n")
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow("wort_l,from_c,target_c,coil_w_per_k,bucket_kg,buckets,last_kg,tap_c,ice_kg,least_s".split(","))
        writer.writerows(rows)


if __name__ == "__main__":
    main(sys.argv[1])
