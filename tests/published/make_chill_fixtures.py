"""Makes the fixtures of the chill fit: wort readings from an independent integration.

Run once by hand with scipy; the tests read the two files it leaves in `values/`.
The two-lump heat balance of a coil in a bath (Kern, Process Heat Transfer,
ch. 18; Incropera & DeWitt, ch. 11) is integrated by scipy's DOP853 at a
relative tolerance of 1e-10, ice by the bath's enthalpy. From the same
integration, by central differences, comes the Cramer-Rao bound of each stage's
conductance: the smallest standard deviation any unbiased fit of these readings
can have, with the wort's start unknown, one conductance per stage, and the
kettle's loss either known or a nuisance with the stated prior.

    python make_chill_fixtures.py values/
"""

import csv
import sys
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp

WATER, ICE_LATENT, WORT = 4186.0, 333_430.0, 1.0464 * 3940.0
ROOM = 20.0
NOISE = 0.3
LOSS, LOSS_SE = 10.0, 3.464
CASES = 240
SEED = 20_240_611


def bath_temperature(heat, mass):
    return max(heat, 0.0) / (mass * WATER)


def chill(start, capacity, stages, coils, loss, times):
    """Wort at `times`, walking the stages one after the other."""
    wort, out = start, np.full(len(times), np.nan)
    for (begin, end, water, at, ice), coil in zip(stages, coils):
        mass = water + ice
        heat = water * WATER * at - ice * ICE_LATENT

        def slope(_, y):
            through = coil * (y[0] - bath_temperature(y[1], mass))
            return [(-through - loss * (y[0] - ROOM)) / capacity, through]

        def ice_gone(_, y):
            return y[1]

        # The heat balance has a corner where the ice is gone: stop there, go on after.
        ice_gone.terminal, ice_gone.direction = True, 1
        now, state = begin, [wort, heat]
        while now < end - 1e-9:
            events = ice_gone if state[1] < -1e-6 else None
            run = solve_ivp(slope, (now, end), state, "DOP853", rtol=1e-10, atol=[1e-9, 1e-2],
                            dense_output=True, events=events)
            inside = (times >= now - 1e-9) & (times <= run.t[-1] + 1e-9)
            if inside.any():
                out[inside] = run.sol(times[inside])[0]
            now, state = run.t[-1], list(run.y[:, -1])
            if run.status == 1:
                state[1] = 0.0
        wort = state[0]
    return out


def bound(start, capacity, stages, coils, loss, times, loss_se):
    """Cramer-Rao bound of each coil: unknown start and coils, loss by its prior."""
    def at(p):
        return chill(p[0], capacity, stages, p[1:1 + len(coils)], p[-1], times)

    centre = np.array([start, *coils, loss])
    free = len(centre) if loss_se > 0 else len(centre) - 1
    columns = []
    for j in range(free):
        step = np.zeros_like(centre)
        step[j] = 1e-4 * max(centre[j], 1.0)
        columns.append((at(centre + step) - at(centre - step)) / (2 * step[j]))
    jacobian = np.array(columns).T
    information = jacobian.T @ jacobian / NOISE**2
    if loss_se > 0:
        information[-1, -1] += loss_se**-2
    return np.sqrt(np.diag(np.linalg.inv(information)))[1:1 + len(coils)]


def one_case(rng):
    litres = rng.uniform(8, 40)
    capacity = litres * WORT
    coil = np.clip(rng.uniform(4, 9) * litres, 40.0, 260.0)
    count = int(rng.integers(2, 5))
    water_at = rng.uniform(8, 22)
    stages, clock = [], 0.0
    for i in range(count):
        lasts = 60.0 * rng.integers(7, 16)
        last_with_ice = i == count - 1 and rng.random() < 0.7
        water = rng.uniform(8, 14) if last_with_ice else rng.uniform(15, 30)
        ice = rng.uniform(2, 8) if last_with_ice else 0.0
        stages.append((clock, clock + lasts, water, water_at, ice))
        clock += lasts
    coils = [coil * rng.uniform(0.85, 1.15) for _ in stages]
    times, now = [], float(rng.integers(0, 60))
    while now < clock:
        times.append(now)
        now += float(rng.integers(60, 121))
    return capacity, stages, coils, rng.uniform(94, 99), np.array(times)


def disturbed(rng, kind, times, stages, readings):
    """One misread value, or one passing dip, in every stage."""
    readings = readings.copy()
    for begin, end, *_ in stages:
        mine = np.flatnonzero((times >= begin) & (times < end))
        if kind == "wild":
            # Misheard, mistyped, or the probe in the steam: 4 to 20 degrees off.
            readings[rng.choice(mine)] += rng.choice([-1, 1]) * rng.uniform(4, 20)
        if kind == "dip":
            # Cold wort at the probe: two to four degrees low, gone within three minutes.
            deep, first = rng.uniform(2, 4), begin + rng.uniform(30, 180)
            share = np.clip(1 - np.abs(times[mine] - first - 60) / 90, 0, 1)
            readings[mine] -= deep * share
    return readings


def main(folder):
    rng = np.random.default_rng(SEED)
    cases = csv.writer(open(folder / "chill_fit_cases.csv", "w", newline=""), lineterminator="\n")
    series = csv.writer(open(folder / "chill_fit_readings.csv", "w", newline=""), lineterminator="\n")
    cases.writerow(["case", "kind", "loss_known", "loss_w_k", "wort_j_k", "stage", "starts_s", "ends_s",
                    "water_kg", "water_c", "ice_kg", "k_w_k", "bound_w_k"])
    series.writerow(["case", "time_s", "wort_c"])
    for case in range(CASES):
        kind = ["clean", "clean", "wild", "dip"][case % 4]
        known = case // 4 % 2 == 0
        capacity, stages, coils, start, times = one_case(rng)
        loss = rng.choice([0.0, 4.0, 8.0, 16.0]) if known else max(rng.normal(LOSS, LOSS_SE), 0.0)
        clean = chill(start, capacity, stages, coils, loss, times)
        bounds = bound(start, capacity, stages, coils, loss, times, 0.0 if known else LOSS_SE)
        readings = disturbed(rng, kind, times, stages, clean + rng.normal(0, NOISE, len(times)))
        for i, ((begin, end, water, at, ice), coil) in enumerate(zip(stages, coils)):
            cases.writerow([case, kind, int(known), f"{loss:.4f}", f"{capacity:.2f}", i, f"{begin:.0f}",
                            f"{end:.0f}", f"{water:.4f}", f"{at:.3f}", f"{ice:.4f}", f"{coil:.4f}",
                            f"{bounds[i]:.4f}"])
        for time, wort in zip(times, readings):
            series.writerow([case, f"{time:.0f}", f"{wort:.3f}"])


if __name__ == "__main__":
    main(Path(sys.argv[1]))
