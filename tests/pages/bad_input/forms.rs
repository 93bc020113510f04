//! Every form of the book, and what is typed into it that can't be kept.

use std::sync::LazyLock;

use crate::book::entry_form;

/// A form on a page.
pub(super) struct Form {
    pub(super) page: &'static str,
    which: Which,
    /// What is typed beside the value that is tried.
    pub(super) before: &'static [(&'static str, &'static str)],
    pub(super) bad: &'static [Typed],
}

/// How a form is found on its page.
enum Which {
    /// By a selector.
    Selector(&'static str),
    /// By the kind of entry it logs and what it carries.
    Entry(&'static str, &'static [(&'static str, &'static str)]),
}

/// A value that can't be kept.
pub(super) struct Typed {
    pub(super) field: &'static str,
    text: &'static str,
    /// The field that is at fault, where that is another.
    pub(super) fault: Option<&'static str>,
}

const fn bad(field: &'static str, text: &'static str) -> Typed {
    Typed { field, text, fault: None }
}

/// A value that leaves another field wanting.
const fn leaves(field: &'static str, text: &'static str, fault: &'static str) -> Typed {
    Typed { field, text, fault: Some(fault) }
}

/// Stand for a text of 121, 301 and 2,001 letters: one more than is kept.
const LONG_NAME: &str = "<long name>";
const LONG_LINE: &str = "<long line>";
const LONG_NOTE: &str = "<long note>";
static LONG: LazyLock<String> = LazyLock::new(|| "é".repeat(2001));

impl Typed {
    pub(super) fn text(&self) -> &'static str {
        let letters = |count: usize| &LONG[..count * 'é'.len_utf8()];
        match self.text {
            LONG_NAME => letters(121),
            LONG_LINE => letters(301),
            LONG_NOTE => letters(2001),
            text => text,
        }
    }
}

impl Form {
    /// The selector that finds it.
    pub(super) fn form(&self) -> String {
        match self.which {
            Which::Selector(selector) => selector.to_owned(),
            Which::Entry(kind, fixed) => entry_form(kind, fixed),
        }
    }
}

const fn page(page: &'static str, bad: &'static [Typed]) -> Form {
    Form { page, which: Which::Selector("main form"), before: &[], bad }
}

const fn part(page: &'static str, form: &'static str, bad: &'static [Typed]) -> Form {
    Form { page, which: Which::Selector(form), before: &[], bad }
}

const fn entry(
    page: &'static str,
    kind: &'static str,
    fixed: &'static [(&'static str, &'static str)],
    before: &'static [(&'static str, &'static str)],
    bad: &'static [Typed],
) -> Form {
    Form { page, which: Which::Entry(kind, fixed), before, bad }
}

const MASH: &str = "/batches/2/mash";
const BOIL: &str = "/batches/2/boil";
const CHILL: &str = "/batches/2/chill";
const PITCH: &str = "/batches/2/pitch";
const CLEAN: &str = "/batches/2/clean";

/// The set of `/welcome/equipment` is only offered to an empty book: tests/pages/welcome.rs.
pub(super) const EVERY_FORM: &[Form] = &[
    part(
        "/settings",
        "form[action='/settings']",
        &[
            bad("house", ""),
            bad("house", LONG_NAME),
            bad("altitude_m", "high up"),
            bad("altitude_m", "9000"),
            bad("altitude_m", "-500 m"),
            bad("altitude_m", "12 parsecs"),
            bad("time_zone", "Mars/Olympus Mons"),
            bad("units.volume", "firkins"),
        ],
    ),
    page("/welcome", &[bad("house", " "), bad("altitude_m", "1,2,3"), bad("units.gravity", "thick")]),
    part(
        "/settings/lists",
        "form[action='/settings/lists']",
        &[
            bad("lists.0.name", ""),
            bad("lists.0.name", LONG_NAME),
            bad("lists.0.items.0.text", LONG_LINE),
            leaves("lists.0.items.2.equipment", "coil", "lists.0.items.2.act"),
        ],
    ),
    page(
        "/equipment/new?kind=coil",
        &[
            bad("name", ""),
            bad("name", LONG_NAME),
            bad("pass_min", "ten"),
            bad("pass_min", "-3"),
            bad("pass_min", "1:30"),
            bad("pass_min", "0"),
            bad("flow_l_min", "0"),
            bad("hold_up_l", "3 kg"),
            bad("dry_mass_kg", "6 lb 20 lb"),
            bad("dry_mass_kg", "−1"),
            bad("notes", LONG_NOTE),
        ],
    ),
    page(
        "/equipment/new?kind=kettle",
        &[
            bad("volume_l", "0"),
            bad("volume_l", "1e999"),
            bad("volume_l", "NaN"),
            bad("volume_l", "∞"),
            bad("volume_l", "0x20"),
            bad("boil_off_l_per_h", "4 L"),
            bad("uncertainty", "-0.1"),
        ],
    ),
    page("/equipment/new?kind=hydrometer", &[bad("calibration_c", "200"), bad("offset", "1.002")]),
    page("/equipment/new?kind=refractometer", &[bad("wort_factor", "2"), bad("offset", "1/2")]),
    page("/equipment/1/edit", &[bad("volume_l", "5000"), bad("name", "  "), bad("dead_space_l", "<script>")]),
    Form {
        page: "/equipment/2",
        which: Which::Selector("form.care-form"),
        before: &[("act", "cleaned")],
        bad: &[
            bad("act", "polished"),
            leaves("act", "weighed", "mass_kg"),
            bad("mass_kg", "heavy"),
            bad("mass_kg", "-3"),
            bad("at", "yesterday"),
            bad("at", "2999-01-01T10:00"),
            bad("at", "1969-12-30T10:00"),
            bad("where", LONG_LINE),
            bad("note", LONG_NOTE),
        ],
    },
    Form {
        page: "/equipment/2/care/0197a000-0000-7000-8000-000000000003",
        which: Which::Selector("form.care-form"),
        before: &[],
        bad: &[leaves("act", "weighed", "mass_kg"), bad("mass_kg", "3.1 L"), bad("at", "then"), bad("why", LONG_NOTE)],
    },
    part(
        "/recipes/new",
        "#recipe",
        &[
            leaves("volume_l", "20", "name"),
            bad("volume_l", "-5"),
            bad("boil_min", "ages"),
            bad("fermentables.0.mass_kg", "4 L"),
            leaves("hops.0.alpha_pct", "6", "hops.0.name"),
        ],
    ),
    part(
        "/recipes/1/edit",
        "#recipe",
        &[
            bad("name", LONG_NAME),
            bad("style", LONG_NOTE),
            bad("volume_l", "20 kg"),
            bad("mash_water_l", "a lot"),
            bad("fermentables.0.yield_pct", "101"),
            bad("fermentables.0.moisture_pct", "-1 %"),
            bad("fermentables.0.colour_ebc", "blue"),
            bad("fermentables.0.use", "fermenter"),
            bad("hops.0.name", ""),
            bad("hops.0.alpha_pct", "110"),
            bad("hops.0.min", "2000"),
            bad("hops.0.mass_kg", "thirty"),
            bad("mash_rests.0.temperature_c", "152"),
            bad("target_pitch_c", "212 F"),
            leaves("yeast.name", "", "yeast.name"),
            bad("yeast.cells_billion", "-1"),
            bad("other.0.min", "10 kg"),
            bad("notes", LONG_NOTE),
        ],
    ),
    page(
        "/batches/new",
        &[
            bad("recipe", "99"),
            bad("name", LONG_NAME),
            bad("volume_l", "0"),
            bad("volume_l", "a lot"),
            bad("tap_c", "-50"),
            bad("altitude_m", "10000"),
        ],
    ),
    part("/batches/1", "form[action='/batches/1']", &[bad("name", ""), bad("name", LONG_NAME)]),
    entry(
        "/batches/2/prepare",
        "check",
        &[("item", "kettle_clean")],
        &[("outcome", "skipped")],
        &[bad("why", LONG_NOTE)],
    ),
    entry(
        MASH,
        "volume",
        &[("point", "strike")],
        &[],
        &[bad("volume_l", ""), bad("volume_l", "-1"), bad("volume_l", "12 gl"), bad("temperature_c", "200")],
    ),
    entry(MASH, "volume", &[("point", "sparge")], &[], &[bad("volume_l", "2001")]),
    entry(
        MASH,
        "volume",
        &[("point", "pre_boil")],
        &[("volume_l", "26")],
        &[bad("at", "25:61"), bad("at", "tomorrow")],
    ),
    entry(MASH, "ph", &[("point", "mash")], &[], &[bad("ph", "14"), bad("ph", "sour"), bad("ph", "5.4 pH")]),
    entry(
        MASH,
        "gravity",
        &[("point", "first_wort")],
        &[("instrument", "hydrometer")],
        &[bad("reading", "12"), bad("reading", "1.5"), bad("reading", ""), bad("temperature_c", "−20")],
    ),
    entry(
        MASH,
        "gravity",
        &[("point", "pre_boil")],
        &[("instrument", "refractometer")],
        &[bad("reading", "60"), bad("reading", "1.048 SG"), bad("note", LONG_NOTE)],
    ),
    entry(
        MASH,
        "temperature",
        &[("place", "mash")],
        &[("place", "mash")],
        &[
            bad("temperature_c", ""),
            bad("temperature_c", "warm"),
            bad("temperature_c", "152"),
            bad("temperature_c", "67 67"),
        ],
    ),
    entry(
        BOIL,
        "addition",
        &[("planned", "0")],
        &[],
        &[bad("mass_kg", "-30"), bad("mass_kg", "a handful"), bad("at", "noon")],
    ),
    entry(BOIL, "flush_started", &[], &[], &[bad("temperature_c", "300"), bad("temperature_c", "hot")]),
    entry(BOIL, "volume", &[("point", "post_boil")], &[], &[bad("volume_l", "22,5,1")]),
    entry(BOIL, "gravity", &[("point", "post_boil")], &[], &[bad("reading", "0.5")]),
    entry(CHILL, "cooling_started", &[], &[("method", "still_bath")], &[bad("water_l", "lots"), bad("water_c", "200")]),
    part(CHILL, "form:has([name='form'][value='flame_out_at'])", &[bad("at", "noonish")]),
    entry(CHILL, "temperature", &[("place", "bath")], &[], &[bad("temperature_c", "cold")]),
    entry(CHILL, "temperature", &[("place", "room")], &[], &[bad("temperature_c", "-60")]),
    entry(CHILL, "note", &[], &[], &[bad("note", "")]),
    entry(CHILL, "ice_added", &[], &[], &[bad("ice_kg", "a bag"), bad("ice_kg", "")]),
    entry(CHILL, "coil_drained", &[], &[], &[bad("recovered_l", "-1")]),
    entry(
        CHILL,
        "temperature",
        &[("place", "wort")],
        &[],
        &[bad("temperature_c", "lukewarm"), bad("temperature_c", "")],
    ),
    entry(PITCH, "volume", &[("point", "into_fermenter")], &[("temperature_c", "19")], &[bad("volume_l", "nineteen")]),
    entry(PITCH, "gravity", &[("point", "into_fermenter")], &[("temperature_c", "19")], &[bad("reading", "1.048 °C")]),
    entry(PITCH, "note", &[], &[], &[bad("note", ""), bad("note", LONG_NOTE)]),
    entry(PITCH, "temperature", &[("place", "yeast")], &[("place", "yeast")], &[bad("temperature_c", "cool")]),
    entry(
        PITCH,
        "pitched",
        &[],
        &[],
        &[
            bad("yeast", ""),
            bad("yeast", LONG_NAME),
            bad("cells_billion", "-1"),
            bad("mass_kg", "11 mL"),
            bad("wort_c", "hot"),
        ],
    ),
    // The first batch is pitched: alcohol bends a refractometer.
    entry(
        "/batches/1/pitch",
        "gravity",
        &[("point", "into_fermenter")],
        &[("reading", "12"), ("temperature_c", "20")],
        &[bad("instrument", "refractometer")],
    ),
    entry(CLEAN, "care", &[("act", "weighed")], &[], &[bad("mass_kg", ""), bad("mass_kg", "-3")]),
    entry(CLEAN, "care", &[("act", "stored")], &[], &[bad("where", LONG_LINE)]),
    entry(CLEAN, "gravity", &[("point", "final")], &[], &[bad("reading", "2"), bad("at", "2999-01-01T10:00")]),
    page(
        "/batches/2/entries/0197a000-0000-7000-8002-000000000001",
        &[
            bad("volume_l", ""),
            bad("volume_l", "lots"),
            bad("temperature_c", "900 F"),
            bad("point", "lunch"),
            bad("at", "2999-01-01T10:00"),
            bad("at", "soon"),
            bad("note", LONG_NOTE),
            bad("why", LONG_NOTE),
        ],
    ),
];
