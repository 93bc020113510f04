//! The chill: where it stands, how it went, what it did to the wort.

use super::Figure;

pub(super) const FIGURES: &[Figure] = &[
    Figure {
        keys: &["chill.verdict", "chill.held_s", "chill.pass_s"],
        name: "Settled",
        meaning: "Whether the reading counts: a dip after a change or a stir passes, and only a \
                  reading that stays put for one full pass of the wort is the wort's.",
        formula: &["|T_i − \"mean\"| ≤ 0.5 \"K for one pass\""],
        symbols: &[
            ("T_i", "each reading of the last pass, °C"),
            ("pass", "time in which the whole volume goes through the coil once"),
        ],
        validity: "No gap between two readings longer than half a pass. A pass of about 10 min is \
                   common practice.",
        sources: &[],
        is_estimate: false,
    },
    Figure {
        keys: &[
            "chill.conductance_w_per_k",
            "chill.conductance_se_w_per_k",
            "chill.stages.conductance_w_per_k",
            "chill.stages.conductance_se_w_per_k",
        ],
        name: "Conductance of the coil",
        meaning: "Heat that passes from wort to bath for each kelvin between them; what makes coils \
                  comparable.",
        formula: &["dT_w/dt = −K (T_w − T_b)/C_w"],
        symbols: &[
            ("K", "conductance, W/K"),
            ("T_w, T_b", "wort and bath, °C"),
            ("C_w", "heat capacity of the wort, J/K"),
        ],
        validity: "Fitted to at least three readings of the stage, or to all coil stages together, \
                   the loss of the kettle to the room counted apart; left out it would make K 5 to 19 % too high.",
        sources: &["Kern-1950", "Incropera-2007"],
        is_estimate: true,
    },
    Figure {
        keys: &["chill.stages.effectiveness", "chill.limited_by"],
        name: "Effectiveness",
        meaning: "The share of what the flow could carry that the coil does carry; near 1 the pump \
                  limits the chill, well below it the coil.",
        formula: &["ε = K/(q ρ c)"],
        symbols: &[
            ("K", "conductance, W/K"),
            ("q", "flow through the coil, L/s"),
            ("ρ c", "heat capacity of a litre, J/K"),
        ],
        validity: "Wort pumped through the coil.",
        sources: &["Incropera-2007"],
        is_estimate: true,
    },
    Figure {
        keys: &["chill.stages.limit_c"],
        name: "Where this bath ends",
        meaning: "The temperature that wort and bath would meet at; no waiting gets below it.",
        formula: &["T_∞ = (C_w T_w + C_b T_b)/(C_w + C_b)"],
        symbols: &[
            ("C_w, C_b", "heat capacity of wort and bath, J/K"),
            ("T_w, T_b", "their temperatures at the start, °C"),
        ],
        validity: "Still bath. Ice takes 333.43 kJ/kg and keeps the bath at 0 °C until it is gone; \
                   in running water or air the limit is the coolant's own temperature.",
        sources: &["Kern-1950", "IAPWS-R10-06"],
        is_estimate: false,
    },
    Figure {
        keys: &["chill.minutes_to_target"],
        name: "Minutes to target",
        meaning: "How long this bath still needs to the pitching temperature.",
        formula: &["t = ln((T_w − T_∞)/(T − T_∞))/r", "r = K (1/C_w + 1/C_b)"],
        symbols: &[
            ("T", "target, °C"),
            ("T_∞", "where this bath ends, °C"),
            ("r", "rate, 1/s"),
            ("K", "conductance, W/K"),
        ],
        validity: "As sure as K is: its standard error is carried through.",
        sources: &["Kern-1950"],
        is_estimate: true,
    },
    Figure {
        keys: &["chill.minutes_to_settled", "chill.minutes_to_80c", "chill.minutes_60_to_30c", "chill.planned_min"],
        name: "Minutes of the chill",
        meaning: "From flame-out until settled at the target, until below 80 °C, and through the \
                  range in which wort spoils most easily; beside them what was planned.",
        formula: &[],
        symbols: &[],
        validity: "Read from the log, straight lines between readings. They depend on the batch and \
                   the season: to compare, take the standard chill.",
        sources: &[],
        is_estimate: false,
    },
    Figure {
        keys: &["chill.mean_rate_c_per_min", "chill.max_rate_c_per_min"],
        name: "Cooling rate",
        meaning: "How fast the wort cooled, on the whole and at best.",
        formula: &["v = ΔT/Δt"],
        symbols: &[("v", "rate, °C/min")],
        validity: "Read from the log.",
        sources: &[],
        is_estimate: false,
    },
    Figure {
        keys: &["chill.heat_mj"],
        name: "Heat moved",
        meaning: "The heat that was taken out of the wort.",
        formula: &["Q = m c (T_0 − T_1)"],
        symbols: &[
            ("m", "mass of the wort, kg"),
            ("c", "its mean specific heat, J/(kg K)"),
            ("T_0, T_1", "wort at flame-out and settled, °C"),
        ],
        validity: "Within 1.5 %, the trust in the specific heat of wort.",
        sources: &["IAPWS-95", "Llano-2005"],
        is_estimate: false,
    },
    Figure {
        keys: &["chill.water_l", "chill.ice_kg", "chill.water_l_per_l", "chill.ice_kg_per_l"],
        name: "Water and ice used",
        meaning: "What the chill cost, all stages together, and for each litre of wort.",
        formula: &[],
        symbols: &[],
        validity: "As recorded.",
        sources: &[],
        is_estimate: false,
    },
    Figure {
        keys: &["chill.would_help", "chill.would_help_saves_min"],
        name: "What would have helped most",
        meaning: "The chill computed again with one thing changed: best change times, a bucket more, \
                  2 kg of ice more, twice the flow, twice the coil, or a stirred bath. The one that \
                  saves most is named.",
        formula: &["Δt = t_\"as it went\" − t_\"changed\""],
        symbols: &[("t", "minutes from flame-out to the target, by the fitted conductances")],
        validity: "Where every bath on the way is on record and its conductance is known to a quarter. \
                   Flow and coil only where the flow or the pass is known.",
        sources: &["Kern-1950"],
        is_estimate: true,
    },
    Figure {
        keys: &["chill.bath_capacity_used_pct"],
        name: "Bath capacity used",
        meaning: "The heat the baths took, of what they could have taken by waiting: a low figure is \
                  cold water poured away.",
        formula: &["u = (Σ Q)/(Σ Q_∞)"],
        symbols: &[
            ("Q", "heat that passed through the coil in a stage, J"),
            ("Q_∞", "heat that would have passed until wort and bath met, J"),
        ],
        validity: "Over the still and ice baths whose conductance could be fitted; as good as those fits.",
        sources: &["Incropera-2007"],
        is_estimate: false,
    },
    Figure {
        keys: &["chill.standard_chill_min"],
        name: "Standard chill",
        meaning: "The minutes this coil would need to bring 20 L of 12 °P wort from 95 to 20 °C \
                  against 12 °C: the one figure that a January and a July batch share.",
        formula: &["t = C ln((95 − 12)/(20 − 12))/K"],
        symbols: &[
            ("C", "heat capacity of 20 L of 12 °P wort, J/K"),
            ("K", "one conductance fitted over all coil stages, W/K"),
        ],
        validity: "Our own yardstick; as sure as K is.",
        sources: &["Kern-1950"],
        is_estimate: true,
    },
    Figure {
        keys: &["chill.alpha_isomerised_after_flame_out_mg_per_l"],
        name: "α-acid isomerised after flame-out",
        meaning: "The bitterness that a slow chill adds.",
        formula: &[
            "dα/dt = −k_1 α",
            "di/dt = k_1 α − k_2 i",
            "k_1 = 7.9 · 10^11 e^(−11858/T)",
            "k_2 = 4.1 · 10^12 e^(−12994/T)",
        ],
        symbols: &[
            ("α, i", "dissolved α-acid and iso-α-acid, mg/L"),
            ("k", "rates, 1/min"),
            ("T", "temperature, K, along the logged curve"),
        ],
        validity: "Measured at 90 to 130 °C, used below it by extrapolation; losses to trub, yeast \
                   and foam left out. For comparing chills.",
        sources: &["MalowickiShellhammer-2005"],
        is_estimate: true,
    },
    Figure {
        keys: &["chill.dms_precursor_turned_over_pct"],
        name: "DMS precursor turned over",
        meaning: "The share of the precursor that became DMS after flame-out, when it no longer \
                  leaves with the steam.",
        formula: &["x = 1 − e^(−0.693 ∫ (1/τ) dt)", "τ = 35 · 2^((100 − T)/6)"],
        symbols: &[
            ("x", "share turned over"),
            ("τ", "half-life, min"),
            ("T", "temperature, °C, along the logged curve"),
        ],
        validity: "± 10 % at the boil; below 85 °C a factor of 2. For comparing chills.",
        sources: &["WilsonBooer-1979", "Dickenson-1979", "AnnessBamforth-1982"],
        is_estimate: true,
    },
];
