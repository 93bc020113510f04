//! A whole stage, phase after phase.

use super::constants::{ICE_LATENT, ICE_SPECIFIC, WATER_SPECIFIC};
use super::law::{Cold, Phase, Side, Ways, bath_state, first_below};

/// kg; a bath of less than a milligram is a bath of nothing. Far below that its rates are beyond any number.
const LEAST_BATH: f64 = 1e-6;

/// A stage solved: where wort and coolant are at any time after its start.
#[derive(Clone, Copy, Debug)]
pub(super) struct Path {
    phases: [Phase; 3],
    count: usize,
    held: f64,
    ways: Ways,
}

impl Path {
    pub(super) fn new(wort: f64, cold: Cold, ways: Ways) -> Self {
        let (mass, mut heat) = match cold {
            Cold::Bath { mass, heat } if mass >= LEAST_BATH && ways.coil > 0.0 => (mass, heat),
            // A bath of nothing, or with the coil out, takes no heat.
            Cold::Bath { .. } => {
                let out = Ways { coil: 0.0, ..ways };
                return Self::one(wort, ways.room, out, cold);
            }
            Cold::Held(level) => return Self::one(wort, level, ways, cold),
        };
        let mut path = Self { count: 0, ..Self::one(wort, 0.0, ways, cold) };
        let (mut wort, mut starts) = (wort, 0.0);
        for _ in 0..3 {
            let mut phase = if heat < -mass * ICE_LATENT {
                let bath = bath_state(mass, heat).0;
                let base = -mass * ICE_LATENT;
                Phase::pair(wort, bath, mass * ICE_SPECIFIC, &ways, mass, base)
            } else if heat < 0.0 {
                Phase::held(wort, 0.0, &ways, Side::Melting { mass, heat, coil: ways.coil })
            } else {
                let capacity = mass * WATER_SPECIFIC;
                Phase::pair(wort, heat / capacity, capacity, &ways, mass, 0.0)
            };
            let full = match phase.side {
                Side::Pair { base, .. } if base < 0.0 => base,
                Side::Melting { .. } => 0.0,
                _ => f64::INFINITY,
            };
            phase.starts = starts;
            phase.lasts = phase.until_heat(full);
            path.phases[path.count] = phase;
            path.count += 1;
            if phase.lasts.is_infinite() {
                break;
            }
            wort = phase.wort(phase.lasts);
            starts += phase.lasts;
            heat = full;
        }
        path
    }

    fn one(wort: f64, level: f64, ways: Ways, cold: Cold) -> Self {
        let mut phase = Phase::held(wort, level, &ways, Side::Held);
        if let Cold::Bath { mass, heat } = cold {
            phase.side = Side::Melting { mass, heat, coil: 0.0 };
        }
        Self { phases: [phase; 3], count: 1, held: level, ways }
    }

    fn phase(&self, t: f64) -> (&Phase, f64) {
        let found = self.phases[..self.count].iter().rev().find(|p| t >= p.starts);
        let phase = found.unwrap_or(&self.phases[0]);
        (phase, t - phase.starts)
    }

    /// How heat leaves the wort in this stage.
    pub(super) fn ways(&self) -> Ways {
        self.ways
    }

    /// Wort temperature after `t`.
    pub(super) fn wort(&self, t: f64) -> f64 {
        let (phase, own) = self.phase(t);
        phase.wort(own)
    }

    /// The coolant after `t`.
    pub(super) fn cold(&self, t: f64) -> Cold {
        let (phase, own) = self.phase(t);
        phase.cold(own, self.held)
    }

    /// Heat gone to the room, and heat that passed the coil, up to `t`.
    pub(super) fn heats(&self, t: f64) -> (f64, f64) {
        let (mut to_room, mut through_coil) = (0.0, 0.0);
        for phase in &self.phases[..self.count] {
            let own = (t - phase.starts).min(phase.lasts);
            if own <= 0.0 {
                break;
            }
            to_room += self.ways.loss * phase.area_above(self.ways.room, own);
            through_coil += match (phase.side, phase.cold(0.0, 0.0), phase.cold(own, 0.0)) {
                (Side::Held, ..) => self.ways.coil * phase.area_above(self.held, own),
                (_, Cold::Bath { heat: first, .. }, Cold::Bath { heat: last, .. }) => last - first,
                _ => 0.0,
            };
        }
        (to_room, through_coil)
    }

    /// When the last ice melts.
    pub(super) fn ice_gone(&self) -> Option<f64> {
        let phases = self.phases[..self.count].iter();
        let melting = phases.filter(|p| matches!(p.side, Side::Melting { coil, .. } if coil > 0.0));
        melting.map(|p| p.starts + p.lasts).find(|t| t.is_finite())
    }

    /// The coldest the wort gets if left for ever, and when (infinity: never quite).
    pub(super) fn coldest(&self) -> (f64, f64) {
        let mut best = (self.wort(0.0), 0.0);
        for phase in &self.phases[..self.count] {
            for (_, end) in phase.monotone() {
                let wort = phase.wort(end);
                if wort < best.0 {
                    best = (wort, phase.starts + end);
                }
            }
        }
        best
    }

    /// The first time the wort is at or below `target`.
    pub(super) fn reaches(&self, target: f64) -> Option<f64> {
        if self.wort(0.0) <= target {
            return Some(0.0);
        }
        for phase in &self.phases[..self.count] {
            for (start, end) in phase.monotone() {
                if start < end && phase.wort(end) < target {
                    let root = first_below(|t| phase.wort(t) - target, start, end);
                    return Some(phase.starts + root);
                }
            }
        }
        None
    }
}
