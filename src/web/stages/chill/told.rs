//! The live part of the page, ready to be set.

use super::words::{CardTold, VerdictTold, Words, step};
use crate::brewday::chill_now::ChillNow;
use crate::brewday::choices::{Choice, EquipmentKind};
use crate::brewday::plausible::Dimension;
use crate::web::stages::frame::StageFrame;
use crate::web::stages::timers::Timer;
use crate::web::units::Shown;
use crate::web::when::Moment;

/// Reading, verdict and card.
#[derive(Clone, Debug)]
pub(super) struct NowTold {
    /// The latest reading.
    pub(super) reading: Option<Shown>,
    /// When it was read, and how long ago where that says more.
    pub(super) read_at: Option<(Moment, Option<String>)>,
    /// Where the wort is to be.
    pub(super) target: Shown,
    /// When it is there.
    pub(super) when: String,
    /// Is the reading true yet? None before flame-out and the first bath.
    pub(super) verdict: Option<VerdictTold>,
    /// What to do.
    pub(super) card: Option<CardTold>,
    /// What the kettle loses by itself, and where that is known from.
    pub(super) loss: Option<String>,
    /// What both take for granted.
    pub(super) assumed: Vec<String>,
    /// When to read again, and when a full pass has gone by.
    pub(super) timers: Vec<Timer>,
    /// Whether the chill is over: what is told then is what was.
    pub(super) is_over: bool,
    /// Whether flame-out was logged.
    pub(super) has_flame_out: bool,
    /// Whether one pass is known.
    pub(super) has_pass: bool,
    /// The coil's own page, where its pass time is written down.
    pub(super) coil_href: Option<String>,
}

impl NowTold {
    pub(super) fn of(page: &StageFrame, now: Option<&ChillNow>) -> Self {
        let (frame, batch) = (&page.frame, &page.day.batch);
        let celsius = |celsius| frame.show(celsius, Dimension::Temperature);
        let words = now.map(|now| Words {
            frame,
            now,
            batch: format!("/batches/{}", batch.id),
            hold_up_l: hold_up_l(page),
            pitch_c: (batch.recipe.pitch_low_c, batch.recipe.pitch_high_c),
            target_c: batch.recipe.target_pitch_c,
        });
        let reading = now.and_then(|now| now.reading);
        Self {
            reading: reading.map(|reading| celsius(reading.wort_c)),
            read_at: reading.map(|reading| {
                let (at, ago) = (frame.clock.short(reading.at), frame.clock.ago(reading.at).text);
                let says_more = ago != at.text;
                (at, says_more.then_some(ago))
            }),
            target: celsius(batch.recipe.target_pitch_c),
            when: words.as_ref().map_or_else(String::new, Words::when),
            verdict: words.as_ref().map(Words::verdict),
            card: words.as_ref().and_then(Words::card),
            loss: words.as_ref().map(Words::loss),
            assumed: words.as_ref().map_or_else(Vec::new, Words::assumed),
            timers: now.filter(|now| now.over.is_none()).map_or_else(Vec::new, |now| timers(page, now)),
            is_over: now.is_some_and(|now| now.over.is_some()),
            has_flame_out: page.day.flame_out().is_some(),
            has_pass: now.is_none_or(|now| now.hold.pass.is_some()),
            coil_href: batch.chiller().map(|coil| format!("/equipment/{}", coil.id)),
        }
    }
}

/// While the wort holds: the reading that keeps the hold, and the one that ends it.
fn timers(page: &StageFrame, now: &ChillNow) -> Vec<Timer> {
    let time = |at| page.frame.clock.time(at);
    let hold = &now.hold;
    let keep = hold.read_by.filter(|by| hold.full_at.is_none_or(|full| *by < full));
    let keep = keep.map(|by| Timer::new(time(by), "Read the wort now, or the hold starts again"));
    let full = hold.full_at.map(|full| Timer::new(time(full), "One full pass has gone by: read the wort"));
    keep.into_iter().chain(full).collect()
}

/// What coil and hoses of a batch hold, where any of them says so, L.
pub(super) fn hold_up_l(page: &StageFrame) -> Option<f64> {
    let kinds = [EquipmentKind::Coil, EquipmentKind::PlateChiller, EquipmentKind::Hose, EquipmentKind::Pump];
    let pieces = page.day.batch.equipment.iter().filter(|record| kinds.contains(&record.equipment.kind));
    pieces.filter_map(|record| record.equipment.hold_up_l).reduce(|sum, litres| sum + litres)
}

/// A cooling stage in the table.
#[derive(Clone, Debug)]
pub(super) struct StageTold {
    /// How it was cooled.
    pub(super) method: &'static str,
    /// When it began.
    pub(super) started: Moment,
    /// How long it lasted; empty while it goes on.
    pub(super) minutes: String,
    /// The fall of the readings in it.
    pub(super) fall: String,
    /// `118 ± 6`
    pub(super) conductance: String,
    /// Share of what the flow could carry.
    pub(super) effectiveness: String,
    /// The coldest the bath could have made the wort.
    pub(super) limit: String,
    /// Why there are no figures.
    pub(super) why_not: Option<String>,
}

/// The cooling stages with what was found of each.
pub(super) fn stages(page: &StageFrame) -> Vec<StageTold> {
    let frame = &page.frame;
    let that_day = frame.on(page.day.brewed_at());
    let text = |value: Option<String>| value.unwrap_or_default();
    let stages = page.summary.chill.stages.iter();
    stages
        .map(|stage| StageTold {
            method: stage.method.label(),
            started: that_day.clock.short(stage.started_at),
            minutes: text(stage.minutes.map(|minutes| frame.show(minutes, Dimension::Minutes).to_string())),
            fall: text(stage.wort_start_c.zip(stage.wort_end_c).map(|(from, to)| step(frame, from - to))),
            conductance: text(
                stage
                    .conductance_w_per_k
                    .zip(stage.conductance_se_w_per_k)
                    .map(|(k, se)| frame.say_measured(k, se, Dimension::Plain)),
            ),
            effectiveness: text(stage.effectiveness.map(|share| format!("{:.0}\u{a0}%", share * 100.0))),
            limit: text(stage.limit_c.map(|celsius| frame.show(celsius, Dimension::Temperature).to_string())),
            why_not: stage.why_not.clone(),
        })
        .collect()
}
