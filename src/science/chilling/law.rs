//! The closed forms under every stage, in plain SI numbers (°C, W/K, J/K, J, s).
//!
//! A stage is at most three phases (a bath frozen solid, melting, liquid), strung
//! together by [`path`](super::path); in each one the wort follows
//! `off + c₁·e^(−a·t) + c₂·e^(−b·t)`. Written on bare
//! `f64` because the fit and the plan evaluate it some hundred thousand times;
//! nothing outside `chilling` sees it.

use super::constants::{ICE_LATENT, ICE_SPECIFIC, WATER_SPECIFIC};

/// What the coil gives its heat to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Cold {
    /// Water and ice of `mass`, `heat` joules above liquid water at 0 °C.
    Bath { mass: f64, heat: f64 },
    /// Something that stays at one temperature: running water, a room.
    Held(f64),
}

/// How heat leaves the wort.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ways {
    /// Heat capacity of the wort.
    pub(super) wort: f64,
    /// Coil conductance.
    pub(super) coil: f64,
    /// Kettle-to-room conductance.
    pub(super) loss: f64,
    /// Room temperature.
    pub(super) room: f64,
}

/// Temperature and ice mass of a bath with this enthalpy.
pub(super) fn bath_state(mass: f64, heat: f64) -> (f64, f64) {
    if mass <= 0.0 {
        (0.0, 0.0)
    } else if heat >= 0.0 {
        (heat / (mass * WATER_SPECIFIC), 0.0)
    } else if heat >= -mass * ICE_LATENT {
        (0.0, -heat / ICE_LATENT)
    } else {
        ((heat / mass + ICE_LATENT) / ICE_SPECIFIC, mass)
    }
}

/// What the coolant does in a phase.
#[derive(Clone, Copy, Debug)]
pub(super) enum Side {
    Held,
    /// At 0 °C, taking heat from `heat` upward.
    Melting {
        mass: f64,
        heat: f64,
        coil: f64,
    },
    /// At `off + d₁·e^(−a·t) + d₂·e^(−b·t)`; its heat is `base + capacity × temperature`.
    Pair {
        mass: f64,
        d1: f64,
        d2: f64,
        base: f64,
        capacity: f64,
    },
}

/// One exponential piece of a stage, in its own time from 0 to `lasts`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Phase {
    pub(super) starts: f64,
    pub(super) lasts: f64,
    pub(super) off: f64,
    pub(super) c1: f64,
    pub(super) a: f64,
    pub(super) c2: f64,
    pub(super) b: f64,
    pub(super) side: Side,
}

/// `(1 − e^(−rate·t)) / rate`, which is `t` where the rate is nil.
fn eased(rate: f64, t: f64) -> f64 {
    if rate * t < 1e-12 { t } else { -(-rate * t).exp_m1() / rate }
}

impl Phase {
    pub(super) fn wort(&self, t: f64) -> f64 {
        if t.is_infinite() {
            let left = if self.a > 0.0 { 0.0 } else { self.c1 };
            let right = if self.b > 0.0 { 0.0 } else { self.c2 };
            return self.off + left + right;
        }
        let slow = if self.a > 0.0 { self.c1 * (-self.a * t).exp() } else { self.c1 };
        let fast = if self.c2 == 0.0 { 0.0 } else { self.c2 * (-self.b * t).exp() };
        self.off + slow + fast
    }

    /// ∫ (wort − `level`) dt from the phase's start.
    pub(super) fn area_above(&self, level: f64, t: f64) -> f64 {
        (self.off - level) * t + self.c1 * eased(self.a, t) + self.c2 * eased(self.b, t)
    }

    pub(super) fn cold(&self, t: f64, held: f64) -> Cold {
        match self.side {
            Side::Held => Cold::Held(held),
            Side::Melting { mass, heat, coil } => Cold::Bath { mass, heat: heat + coil * self.area_above(0.0, t) },
            Side::Pair { mass, d1, d2, base, capacity } => {
                let (slow, fast) = ((-self.a * t).exp(), (-self.b * t).exp());
                let bath = self.off + d1 * slow + d2 * fast;
                Cold::Bath { mass, heat: base + capacity * bath }
            }
        }
    }

    /// When the wort stops falling and rises, or the other way about.
    fn turns(&self) -> Option<f64> {
        let ratio = -(self.b * self.c2) / (self.a * self.c1);
        let t = ratio.ln() / (self.b - self.a);
        (ratio > 0.0 && t.is_finite() && t > 0.0 && t < self.lasts).then_some(t)
    }

    /// The one or two stretches in which the wort only falls or only rises.
    pub(super) fn monotone(&self) -> [(f64, f64); 2] {
        match self.turns() {
            Some(t) => [(0.0, t), (t, self.lasts)],
            None => [(0.0, self.lasts), (self.lasts, self.lasts)],
        }
    }

    /// Two bodies that share heat through the coil while one loses to the room.
    pub(super) fn pair(wort: f64, bath: f64, capacity: f64, ways: &Ways, mass: f64, base: f64) -> Self {
        let Ways { wort: cw, coil: k, loss: g, room } = *ways;
        let (x, y) = (wort - room, bath - room);
        // d/dt (x, y) = M (x, y); e^(Mt) = [e^(−at)(M + b) − e^(−bt)(M + a)] / (b − a)
        let (m11, m12, m21, m22) = (-(k + g) / cw, k / cw, k / capacity, -k / capacity);
        let trace = -(m11 + m22);
        let det = g * k / (cw * capacity);
        let root = (trace * trace / 4.0 - det).max(0.0).sqrt();
        let b = trace / 2.0 + root;
        let a = if b > 0.0 { det / b } else { 0.0 };
        let (mx, my) = (m11 * x + m12 * y, m21 * x + m22 * y);
        let apart = b - a;
        let (c1, c2, d1, d2) = if apart > 0.0 {
            ((mx + b * x) / apart, -(mx + a * x) / apart, (my + b * y) / apart, -(my + a * y) / apart)
        } else {
            (x, 0.0, y, 0.0)
        };
        let side = Side::Pair { mass, d1, d2, base, capacity };
        Self { starts: 0.0, lasts: f64::INFINITY, off: room, c1, a, c2, b, side }
    }

    /// One body against something that stays at `level`.
    pub(super) fn held(wort: f64, level: f64, ways: &Ways, side: Side) -> Self {
        let total = ways.coil + ways.loss;
        let off = if total > 0.0 { (ways.coil * level + ways.loss * ways.room) / total } else { level };
        let (c1, a) = (wort - off, total / ways.wort);
        Self { starts: 0.0, lasts: f64::INFINITY, off, c1, a, c2: 0.0, b: 0.0, side }
    }
}

impl Phase {
    /// When the bath's heat has risen to `full`.
    pub(super) fn until_heat(&self, full: f64) -> f64 {
        let short = |t: f64| match self.cold(t, 0.0) {
            Cold::Bath { heat, .. } => full - heat,
            Cold::Held(_) => 1.0,
        };
        if full.is_infinite() {
            return f64::INFINITY;
        }
        // What the bath can still take if left for ever.
        let room_for_more = match self.side {
            Side::Melting { heat, coil, .. } if self.off <= 0.0 => {
                self.a > 0.0 && heat + coil * self.c1 / self.a > full
            }
            Side::Melting { .. } => self.off > 0.0 && self.a > 0.0,
            Side::Pair { base, capacity, d1, .. } => {
                let left = if self.a > 0.0 { 0.0 } else { d1 };
                base + capacity * (self.off + left) > full
            }
            Side::Held => false,
        };
        if room_for_more { first_below(short, 0.0, f64::INFINITY) } else { f64::INFINITY }
    }
}

/// The zero of a function that falls through it between `low` and `high`:
/// secant steps (Illinois rule) kept inside a shrinking bracket.
pub(super) fn first_below(f: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    let mut f_low = f(low);
    if f_low <= 0.0 {
        return low;
    }
    if high.is_infinite() {
        let mut step = 64.0;
        high = low + step;
        while f(high) > 0.0 && step < 1e12 {
            low = high;
            step *= 2.0;
            high = low + step;
        }
        f_low = f(low);
    }
    let mut f_high = f(high);
    for round in 0..100 {
        let middle = if round % 8 == 7 { 0.5 * (low + high) } else { (low * f_high - high * f_low) / (f_high - f_low) };
        let f_middle = f(middle);
        if f_middle.abs() < 1e-13 || high - low < 1e-10 * high {
            return middle;
        }
        if f_middle > 0.0 {
            (low, f_low) = (middle, f_middle);
            f_high *= 0.5;
        } else {
            (high, f_high) = (middle, f_middle);
            f_low *= 0.5;
        }
    }
    high
}
