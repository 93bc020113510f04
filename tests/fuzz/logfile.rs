//! Thermometers' logs: whatever comes as a file gives readings and refused rows, every row once.

use gylebook::brewday::choices::{Choice, Place};
use gylebook::brewday::logfile::{DateOrder, Degrees, LogTable, Mapping, TimeForm};
use proptest::option;
use proptest::prelude::*;
use proptest::sample::select;
use time::macros::datetime;
use time::{OffsetDateTime, PrimitiveDateTime};

use crate::{bend, fuzz};

const NOW: OffsetDateTime = datetime!(2026-04-08 12:00 UTC);
const FILES: [&str; 12] = [
    "time,temperature\n2026-03-07 14:42:00,65.3\n2026-03-07 14:42:30,60.1\n",
    "Zeit;Würze °C\n07.03.2026 14:42;65,3\n07.03.2026 14:43;60,1\n",
    "03/07/2026\t2:42 PM\t149.5 F\n03/07/2026\t2:43 PM\t140 F\n",
    "# probe 2\n14:42:00|65.3\n23:59:59|60.1\n00:00:10|55\n",
    "0,338.4\n30,333.2\n60,328.1\n",
    "1772890920;65,3\n1772890950;60,1\n",
    "1772890920000,65.3,\"a, b\"\n",
    "46088.6125,65.3\n46088.6132,60.1\n",
    "\"2026-03-07T14:42:00Z\",\"65.3\"\n\"2026-03-07T14:42:30+01:00\",\"\"\"\"\n",
    "a;b\n;\n\n,,,\n12:30;x\n",
    "0:00 65.3\r\n0:30 60.1\r\n1:02:30 -0\r\n",
    "",
];

/// As it was guessed, but for what somebody chose otherwise.
#[derive(Clone, Debug)]
struct Chosen {
    columns: Option<(usize, Option<usize>, usize)>,
    form: Option<TimeForm>,
    order: Option<DateOrder>,
    degrees: Option<Degrees>,
    start: Option<OffsetDateTime>,
    apart_s: u32,
}

fn chosen() -> impl Strategy<Value = Chosen> {
    let starts = vec![
        datetime!(2026-03-29 00:59 UTC),
        datetime!(1970-01-01 00:00 UTC),
        datetime!(9999-12-31 23:59:59 UTC),
        datetime!(-9999-01-01 00:00 UTC),
    ];
    let columns = (0..70_usize, option::of(0..4_usize), 0..70_usize);
    (
        option::of(columns),
        option::of(select(TimeForm::ALL)),
        option::of(select(DateOrder::ALL)),
        option::of(select(Degrees::ALL)),
        option::of(select(starts)),
        prop_oneof![Just(0), 1..90_u32, Just(u32::MAX)],
    )
        .prop_map(|(columns, form, order, degrees, start, apart_s)| Chosen {
            columns,
            form,
            order,
            degrees,
            start,
            apart_s,
        })
}

/// One hour a year does not exist on this wall.
fn wall(at: PrimitiveDateTime) -> Result<OffsetDateTime, String> {
    if at.month() == time::Month::March && at.hour() == 2 {
        Err("That hour was skipped.".into())
    } else {
        Ok(at.assume_utc())
    }
}

#[test]
fn logs_of_thermometers() {
    let inputs = (bend::text(&FILES), any::<bool>(), chosen());
    fuzz("thermometers' logs", 2, inputs, |(text, is_wide, chosen)| {
        let bytes = if is_wide {
            std::iter::once(0xfeff).chain(text.encode_utf16()).flat_map(u16::to_le_bytes).collect()
        } else {
            text.into_bytes()
        };
        let (table, guess) = match LogTable::read(&bytes) {
            Ok(read) => read,
            Err(why) => return assert!(why.ends_with('.'), "{why}"),
        };
        let guessed = || Some((guess.time?, guess.clock, guess.temperature?));
        let (time, clock, temperature) = chosen.columns.or_else(guessed).unwrap_or((0, None, 1));
        let mapping = Mapping {
            time,
            clock,
            temperature,
            form: chosen.form.unwrap_or(guess.form),
            order: chosen.order.or(guess.order),
            degrees: chosen.degrees.unwrap_or(guess.degrees),
            place: Place::Wort,
            start: chosen.start,
            zone: None,
            apart_s: chosen.apart_s,
        };
        let found = table.readings(&mapping, wall, NOW);
        let counted = found.readings.len() + found.refused.len() + found.passed_over + found.thinned;
        assert_eq!(counted, table.rows.len(), "every row once");
        assert!(found.readings.iter().all(|reading| reading.temperature_c.is_finite()));
        assert!(found.refused.iter().all(|row| !row.why.is_empty()));
    });
}
