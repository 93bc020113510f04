//! The figures' published names. `…_se` is one standard error, in the unit of the
//! figure it stands beside.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::brewday::said::Said;

/// Every computed figure of a batch.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Summary {
    /// Gravities, corrected to 20 °C.
    pub gravity: GravityFigures,
    /// Volumes, brought to 20 °C.
    pub volume: VolumeFigures,
    /// Where the extract is.
    pub extract: ExtractFigures,
    /// How much of it came along.
    pub efficiency: EfficiencyFigures,
    /// Estimates.
    pub estimate: EstimateFigures,
    /// Cells needed and pitched.
    pub yeast: YeastFigures,
    /// The coil's hot flush.
    pub flush: FlushFigures,
    /// The chill.
    pub chill: ChillFigures,
    /// The pitch.
    pub pitch: PitchFigures,
    /// What was taken off the readings.
    #[serde(default)]
    pub instruments: InstrumentFigures,
    /// For each figure that can't be computed, the reason and the entry it waits for.
    pub missing: BTreeMap<String, String>,
}

/// Gravities, corrected to 20 °C (SG 20/20 and °P).
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[expect(missing_docs, reason = "published names, unit and all")]
pub struct GravityFigures {
    pub first_wort_sg: Option<f64>,
    pub first_wort_plato: Option<f64>,
    pub first_wort_sg_se: Option<f64>,
    pub first_wort_plato_se: Option<f64>,
    pub pre_boil_sg: Option<f64>,
    pub pre_boil_plato: Option<f64>,
    pub pre_boil_sg_se: Option<f64>,
    pub pre_boil_plato_se: Option<f64>,
    pub post_boil_sg: Option<f64>,
    pub post_boil_plato: Option<f64>,
    pub post_boil_sg_se: Option<f64>,
    pub post_boil_plato_se: Option<f64>,
    pub original_sg: Option<f64>,
    pub original_plato: Option<f64>,
    pub original_sg_se: Option<f64>,
    pub original_plato_se: Option<f64>,
    pub final_sg: Option<f64>,
    pub final_plato: Option<f64>,
    pub final_sg_se: Option<f64>,
    pub final_plato_se: Option<f64>,
}

/// Volumes at 20 °C.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[expect(missing_docs, reason = "published names, unit and all")]
pub struct VolumeFigures {
    pub pre_boil_l: Option<f64>,
    pub pre_boil_se_l: Option<f64>,
    pub post_boil_l: Option<f64>,
    pub post_boil_se_l: Option<f64>,
    pub into_fermenter_l: Option<f64>,
    pub into_fermenter_se_l: Option<f64>,
    pub recovered_l: Option<f64>,
    pub boil_off_l_per_h: Option<f64>,
    pub boil_off_pct_per_h: Option<f64>,
}

/// Masses of extract.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[expect(missing_docs, reason = "published names, unit and all")]
pub struct ExtractFigures {
    pub potential_kg: Option<f64>,
    pub pre_boil_kg: Option<f64>,
    pub pre_boil_se_kg: Option<f64>,
    pub post_boil_kg: Option<f64>,
    pub post_boil_se_kg: Option<f64>,
    pub into_fermenter_kg: Option<f64>,
    pub into_fermenter_se_kg: Option<f64>,
    /// Post-boil extract less pre-boil extract and kettle sugars.
    pub account_gap_kg: Option<f64>,
    pub account_gap_se_kg: Option<f64>,
}

/// Shares of the extract that could have come along.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[expect(missing_docs, reason = "published names, unit and all")]
pub struct EfficiencyFigures {
    pub conversion_pct: Option<f64>,
    pub into_kettle_pct: Option<f64>,
    pub into_kettle_se_pct: Option<f64>,
    pub brewhouse_pct: Option<f64>,
    pub brewhouse_se_pct: Option<f64>,
    pub kettle_to_fermenter_pct: Option<f64>,
    /// US points a pound of mash grain gave in a gallon of pre-boil wort.
    pub into_kettle_ppg: Option<f64>,
    /// Litre-degrees (SG points × litres) a kilogram of mash grain gave before the boil.
    pub into_kettle_l_deg_per_kg: Option<f64>,
}

/// Estimates, labelled as such wherever they are shown.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[expect(missing_docs, reason = "published names, unit and all")]
pub struct EstimateFigures {
    pub bitterness_ibu: Option<f64>,
    pub colour_ebc: Option<f64>,
    pub abv_pct: Option<f64>,
}

/// Yeast cells, in thousand millions.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[expect(missing_docs, reason = "published names, unit and all")]
pub struct YeastFigures {
    pub cells_needed_billion: Option<f64>,
    pub cells_pitched_billion: Option<f64>,
}

/// The hot flush of the coil.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[expect(missing_docs, reason = "published names, unit and all")]
pub struct FlushFigures {
    pub seconds: Option<f64>,
    pub temperature_c: Option<f64>,
    pub verdict: FlushVerdict,
    /// Whether the coil was recorded as clean before it; only then does the flush count.
    pub on_clean_coil: Option<bool>,
    /// Whether the stricter published rule (77 °C for 5 min at the outlet) is met too.
    pub meets_stricter_rule: Option<bool>,
}

/// The chill, from flame-out on.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[expect(missing_docs, reason = "published names, unit and all")]
pub struct ChillFigures {
    pub verdict: ChillVerdict,
    pub held_s: Option<f64>,
    pub pass_s: Option<f64>,
    pub minutes_to_target: Option<f64>,
    pub minutes_to_settled: Option<f64>,
    pub minutes_to_80c: Option<f64>,
    pub minutes_60_to_30c: Option<f64>,
    pub mean_rate_c_per_min: Option<f64>,
    pub max_rate_c_per_min: Option<f64>,
    pub heat_mj: Option<f64>,
    pub water_l: Option<f64>,
    pub ice_kg: Option<f64>,
    /// Water for each litre of wort.
    pub water_l_per_l: Option<f64>,
    /// Ice for each litre of wort.
    pub ice_kg_per_l: Option<f64>,
    /// Heat the baths took, of what they could have taken down to where the wort ended.
    pub bath_capacity_used_pct: Option<f64>,
    /// One conductance fitted over all coil stages together.
    pub conductance_w_per_k: Option<f64>,
    pub conductance_se_w_per_k: Option<f64>,
    pub standard_chill_min: Option<f64>,
    pub standard_chill_se_min: Option<f64>,
    pub limited_by: LimitedBy,
    /// What the kettle lost to the room by itself, measured with the pump off.
    pub kettle_loss_w_per_k: Option<f64>,
    pub kettle_loss_se_w_per_k: Option<f64>,
    /// The one change that would have saved most.
    pub would_help: Option<WouldHelp>,
    pub would_help_saves_min: Option<f64>,
    pub planned_min: Option<f64>,
    pub alpha_isomerised_after_flame_out_mg_per_l: Option<f64>,
    pub dms_precursor_turned_over_pct: Option<f64>,
    pub stages: Vec<ChillStageFigures>,
}

/// One cooling stage.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
#[expect(missing_docs, reason = "published names, unit and all")]
pub struct ChillStageFigures {
    pub method: crate::brewday::choices::Cooling,
    #[serde(with = "time::serde::rfc3339")]
    pub started_at: time::OffsetDateTime,
    pub minutes: Option<f64>,
    pub wort_start_c: Option<f64>,
    pub wort_end_c: Option<f64>,
    pub conductance_w_per_k: Option<f64>,
    pub conductance_se_w_per_k: Option<f64>,
    pub effectiveness: Option<f64>,
    /// The lowest this stage can bring the wort to.
    pub limit_c: Option<f64>,
    /// Why there is no conductance, where there is none.
    pub why_not: Option<String>,
}

/// What was taken off the readings. Entries stay as they were read.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct InstrumentFigures {
    /// What was added to every temperature that was logged, before anything was
    /// computed from it: nothing where no thermometer's offset is known, or where
    /// two differ.
    pub thermometer_correction_c: f64,
}

/// The pitch and what it was cleared by.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, ToSchema)]
#[expect(missing_docs, reason = "published names, unit and all")]
pub struct PitchFigures {
    #[serde(with = "time::serde::rfc3339::option")]
    pub at: Option<time::OffsetDateTime>,
    pub wort_c: Option<f64>,
    pub yeast_c: Option<f64>,
    pub clearance: Vec<Clearance>,
}

/// One line of the pitch clearance.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Clearance {
    /// What has to be so.
    #[schema(value_type = String)]
    pub what: Said,
    /// Whether it is.
    pub state: ClearanceState,
    /// The figures behind it, in a sentence (SI).
    #[schema(value_type = String)]
    pub why: Said,
}

crate::brewday::choices::choices! {
    /// Whether a clearance item is met.
    ClearanceState {
        Done = "done", "Done";
        Missing = "missing", "Missing";
        NotKnown = "not_known", "Not known";
    }

    /// Whether the coil's hot flush was long and hot enough.
    #[derive(Default)]
    FlushVerdict {
        LongEnough = "long_enough", "Long and hot enough";
        TooShort = "too_short", "Too short";
        TooCool = "too_cool", "Too cool";
        #[default]
        NotRecorded = "not_recorded", "Not recorded";
    }

    /// Whether the wort's reading counts yet.
    #[derive(Default)]
    ChillVerdict {
        #[default]
        NotStarted = "not_started", "Not started";
        Moving = "moving", "Still moving";
        Holding = "holding", "Holding";
        Settled = "settled", "Settled";
    }

    /// What would have made a chill quicker.
    WouldHelp {
        BestTimes = "best_times", "Changing baths at the best times";
        Bucket = "bucket", "One bucket of water more";
        Ice = "ice", "More ice in the last bath";
        Flow = "flow", "Twice the flow through the coil";
        Coil = "coil", "A coil twice as long";
        Stir = "stir", "Stirring the bath from the start";
    }

    /// What held the chill back.
    #[derive(Default)]
    LimitedBy {
        Flow = "flow", "Flow";
        Coil = "coil", "Coil";
        Bath = "bath", "Bath";
        Stirring = "stirring", "Stirring";
        #[default]
        Unknown = "unknown", "Not known";
    }
}
