//! What the card takes for granted.

use super::{Words, basis};
use crate::brewday::chill::LossFrom;
use crate::brewday::chill_now::{BathReady, BathsFrom};
use crate::brewday::choices::Cooling;
use crate::brewday::plausible::Dimension;
use crate::science::chilling::Estimate;
use crate::science::chilling::exchange::Limit;
use crate::science::units::{Conductance, Temperature};
use crate::web::Frame;

impl Words<'_> {
    /// What forecast and advice rest on, one sentence each.
    pub(in crate::web::stages::chill) fn assumed(&self) -> Vec<String> {
        // Of a wort that is there nothing is foreseen.
        if self.now.hold.in_range.is_some() || self.is_out_at_target() {
            return Vec::new();
        }
        let Ok(outlook) = &self.now.outlook else { return Vec::new() };
        let Estimate { conductance, se } = outlook.coil;
        let in_air = self.method() == Some(Cooling::Air);
        let coil = (!in_air).then(|| {
            format!(
                "The coil takes {:.0} ± {:.0}\u{a0}W for each degree{}.",
                conductance.watts_per_kelvin(),
                se.watts_per_kelvin(),
                basis(outlook.source, self.is_in_bath())
            )
        });
        let most = self.now.chill.flow_heat().filter(|most| !in_air && conductance - se * 2.0 > *most);
        let beyond = most.map(|most| {
            format!(
                "That is more than the flow can carry ({:.0}\u{a0}W): the pass time, the flow or the volume on record is off.",
                most.watts_per_kelvin()
            )
        });
        let limited = limited(outlook.limited_by).map(str::to_owned);
        [coil, beyond, limited, Some(self.loss()), Some(self.baths())].into_iter().flatten().collect()
    }

    /// What the kettle loses by itself, and where that is known from.
    pub(in crate::web::stages::chill) fn loss(&self) -> String {
        let loss = self.now.fit.loss;
        let watts = |conductance: Conductance| conductance.watts_per_kelvin();
        let (loss, from) = match self.now.loss_from {
            LossFrom::Today(read) => (read, "measured today with the pump off".to_owned()),
            LossFrom::Earlier(1) => {
                (Estimate { conductance: loss.conductance, se: loss.se }, "as an earlier batch measured".to_owned())
            }
            LossFrom::Earlier(batches) => {
                let read = Estimate { conductance: loss.conductance, se: loss.se };
                (read, format!("as {batches} earlier batches measured"))
            }
            LossFrom::Assumed => {
                let taken = Estimate { conductance: loss.conductance, se: loss.se };
                (taken, "by what kettles lose (4 to 16) and today’s readings: it was never measured".to_owned())
            }
        };
        format!(
            "The kettle loses {:.0} ± {:.0}\u{a0}W for each degree to the room by itself, {from}.",
            watts(loss.conductance),
            watts(loss.se)
        )
    }

    fn baths(&self) -> String {
        let ready: Vec<String> = self.now.ready.iter().map(|ready| ready_told(self.frame, ready)).collect();
        let told = ready.join("; ");
        match self.now.ready_from {
            BathsFrom::Plan if ready.is_empty() => "Every bath of the plan you kept is used.".to_owned(),
            BathsFrom::Plan => format!("Still to come, as in the plan you kept: {told}."),
            BathsFrom::Buckets(_) if ready.is_empty() => "Every bucket of this batch is used.".to_owned(),
            BathsFrom::Buckets(tap) if self.now.ready.iter().any(|ready| ready.is_refill) => format!(
                "Every bucket is used, so one is counted on to be filled anew from the tap at {}: {told}.",
                self.about(Temperature::from_celsius(tap))
            ),
            BathsFrom::Buckets(tap) => {
                format!("Still to come: {told}, full from the tap at {}.", self.about(Temperature::from_celsius(tap)))
            }
            BathsFrom::NoTap => "How warm the tap runs was not said, so no other bath is counted on.".to_owned(),
            BathsFrom::NoBuckets => "This batch has no buckets, so no other bath is counted on.".to_owned(),
        }
    }
}

/// "bath 3 (Blue bucket), 17 L + 4 kg ice"
fn ready_told(frame: &Frame, ready: &BathReady) -> String {
    let name = ready.name.as_deref().map(|name| format!(" ({name})")).unwrap_or_default();
    let ice = match ready.bath.ice_kg {
        ice_kg if ice_kg > 0.0 => format!(" + {} ice", frame.show(ice_kg, Dimension::Mass)),
        _ => String::new(),
    };
    format!("bath {}{name}, {}{ice}", ready.number, frame.show(ready.bath.water_l, Dimension::Volume))
}

/// What holds the chill back, and what would help most.
fn limited(limit: Limit) -> Option<&'static str> {
    match limit {
        Limit::Flow => Some("The pump holds you back: more flow would help most."),
        Limit::Coil => Some("The coil holds you back: a longer one would help most."),
        Limit::Bath => Some("The bath holds you back: fresh water or ice helps most."),
        Limit::Stirring => Some("Still water at the coil holds you back: stir."),
        Limit::Unknown => None,
    }
}
