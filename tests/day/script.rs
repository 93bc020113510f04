//! The day itself: a pale ale in a shed, in °F, US gallons, pounds and °P, with
//! other units and a decimal comma typed here and there, one reading corrected,
//! one struck out and brought back, one undone.

use axum::http::StatusCode;

use crate::book::{TestBook, entry_form as form};
use crate::brewer::{Brewer, ZONE};

/// From the empty book to the closed batch and its final gravity.
pub(crate) async fn brew() -> Brewer {
    let mut brewer = brew_nothing().await;
    let next = brewer.send("/batches/new?recipe=1", "form.form", &[("volume_l", "5,5"), ("tap_c", "54 F")]).await;
    brewer.batch = next.split('/').nth(2).and_then(|id| id.parse().ok()).expect("a batch's page");
    prepare(&brewer).await;
    mash(&brewer).await;
    boil(&brewer).await;
    chill(&brewer).await;
    pitch(&brewer).await;
    clean(&brewer).await;
    brewer
}

/// A book with units, equipment and the recipe, before any batch.
pub(crate) async fn brew_nothing() -> Brewer {
    let brewer = Brewer { book: TestBook::open().await, batch: 0 };
    move_in(&brewer).await;
    describe_equipment(&brewer).await;
    write_the_recipe(&brewer).await;
    brewer
}

async fn move_in(brewer: &Brewer) {
    let first = brewer.book.get("/").await;
    assert_eq!((first.status, first.location.as_deref()), (StatusCode::SEE_OTHER, Some("/welcome")));
    let units = [
        ("units.temperature", "fahrenheit"),
        ("units.volume", "us_gallons"),
        ("units.mass", "avoirdupois"),
        ("units.gravity", "plato"),
        ("units.colour", "srm"),
        ("house", "The shed"),
        ("time_zone", ZONE),
    ];
    assert_eq!(brewer.send("/welcome", "main form", &units).await, "/welcome/equipment");
}

async fn describe_equipment(brewer: &Brewer) {
    let pieces: [(&str, &[(&str, &str)]); 10] = [
        ("mash_vessel", &[("name", "Tun"), ("volume_l", "10"), ("dead_space_l", "0,25"), ("dry_mass_kg", "11 lb")]),
        ("kettle", &[("name", "Kettle"), ("volume_l", "10 gal"), ("boil_off_l_per_h", "1")]),
        ("coil", &[("name", "Coil"), ("pass_min", "10"), ("hold_up_l", "1 qt"), ("dry_mass_kg", "6 lb 8 oz")]),
        ("bucket", &[("name", "Bucket 1"), ("volume_l", "5")]),
        ("bucket", &[("name", "Bucket 2"), ("volume_l", "19 L")]),
        ("bucket", &[("name", "Bucket 3"), ("volume_l", "5")]),
        ("fermenter", &[("name", "Fermenter"), ("volume_l", "7")]),
        ("hydrometer", &[("name", "Hydrometer"), ("calibration_c", "60"), ("offset", "0")]),
        ("refractometer", &[("name", "Refractometer"), ("wort_factor", "1,04"), ("offset", "0")]),
        ("hose", &[("name", "Hoses")]),
    ];
    for (index, (kind, typed)) in pieces.into_iter().enumerate() {
        let next = brewer.send(&format!("/equipment/new?kind={kind}"), "main form", typed).await;
        assert_eq!(next, format!("/equipment/{}", index + 1));
    }
    // The evening before: the coil is cleaned.
    let care = [("act", "cleaned"), ("at", "2025-03-14T19:30"), ("note", "Citric acid, rinsed twice")];
    assert!(brewer.send("/equipment/3", "form.care-form", &care).await.starts_with("/equipment/3?kept="));
}

async fn write_the_recipe(brewer: &Brewer) {
    let book = &brewer.book;
    let mut page = book.get("/recipes/new").await;
    for (list, typed) in [
        (
            "fermentables",
            &[
                ("fermentables.0.name", "Pale malt"),
                ("fermentables.0.mass_kg", "9"),
                ("fermentables.0.yield_pct", "80"),
                ("fermentables.0.moisture_pct", "4"),
                ("fermentables.0.colour_ebc", "2,5"),
            ][..],
        ),
        (
            "fermentables",
            &[
                ("fermentables.1.name", "Crystal malt"),
                ("fermentables.1.mass_kg", "8 oz"),
                ("fermentables.1.yield_pct", "75 %"),
                ("fermentables.1.moisture_pct", "4"),
                ("fermentables.1.colour_ebc", "40 SRM"),
            ],
        ),
        (
            "hops",
            &[
                ("fermentables.2.name", "White sugar"),
                ("fermentables.2.mass_kg", "1"),
                ("fermentables.2.yield_pct", "100"),
                ("fermentables.2.moisture_pct", "0"),
                ("fermentables.2.colour_ebc", "0"),
                ("fermentables.2.use", "kettle"),
                ("hops.0.name", "Northern Brewer"),
                ("hops.0.mass_kg", "1 oz"),
                ("hops.0.alpha_pct", "6,4"),
                ("hops.0.min", "60"),
            ],
        ),
        (
            "hops",
            &[
                ("hops.1.name", "Fuggles"),
                ("hops.1.mass_kg", "0.5"),
                ("hops.1.alpha_pct", "5"),
                ("hops.1.min", "15"),
                ("hops.1.form", "cone"),
            ],
        ),
    ] {
        page = book.send(&page, "#recipe", &[typed, &[("row", &format!("add-{list}"))]].concat()).await;
        assert_eq!(page.status, StatusCode::OK, "nothing is kept yet");
    }
    let rest = [
        ("hops.2.name", "Fuggles"),
        ("hops.2.mass_kg", "1 oz"),
        ("hops.2.alpha_pct", "5"),
        ("hops.2.use", "flame_out"),
        ("name", "Shed Pale"),
        ("style", "Pale ale"),
        ("volume_l", "5 gal"),
        ("boil_min", "1 h"),
        ("mash_rests.0.temperature_c", "152 F"),
        ("mash_rests.0.min", "60"),
        ("yeast.name", "House ale"),
        ("yeast.cells_billion", "200"),
        ("target_pitch_c", "67"),
        ("pitch_low_c", "62"),
        ("pitch_high_c", "21 C"),
        ("other.0.name", "Irish moss"),
        ("other.0.mass_kg", "5 g"),
        ("other.0.min", "15"),
        ("other.0.use", "boil"),
    ];
    let kept = book.send(&page, "#recipe", &rest).await;
    assert_eq!(kept.location.as_deref(), Some("/recipes/1"), "{:?}", kept.texts(".summary__list"));
}

async fn prepare(brewer: &Brewer) {
    for item in ["kettle_clean", "mash_vessel_clean", "coil_inspected", "leaks_checked"] {
        brewer.tick("prepare", item, "08:30").await;
    }
    let skipped = form("check", &[("item", "gas_outdoors")]);
    brewer.log("prepare", &skipped, "08:32", &[("outcome", "skipped"), ("why", "Electric kettle")]).await;
    brewer.log("prepare", &form("stage_finished", &[]), "08:40", &[]).await;
}

async fn mash(brewer: &Brewer) {
    let volume = |point| form("volume", &[("point", point)]);
    let gravity = |point| form("gravity", &[("point", point)]);
    brewer.log("mash", &volume("strike"), "08:55", &[("volume_l", "4.5 gal"), ("temperature_c", "70 C")]).await;
    brewer.log("mash", &form("stage_started", &[]), "09:00", &[]).await;
    brewer.read("mash", "mash", "09:10", "152 F").await;
    brewer.log("mash", &form("ph", &[("point", "mash")]), "09:12", &[("ph", "5,4")]).await;
    brewer.log("mash", &gravity("first_wort"), "10:05", &[("reading", "1.060 SG"), ("temperature_c", "86 F")]).await;
    brewer.log("mash", &volume("sparge"), "10:15", &[("volume_l", "4"), ("temperature_c", "168")]).await;
    let misread =
        brewer.log("mash", &volume("pre_boil"), "10:45", &[("volume_l", "9 gal"), ("temperature_c", "158 F")]).await;
    brewer.put_right(&misread, &[("volume_l", "7 gal"), ("why", "Read from the wrong end of the stick")]).await;
    let by_refractometer = [("instrument", "refractometer"), ("reading", "10,4"), ("temperature_c", "68")];
    brewer.log("mash", &gravity("pre_boil"), "10:50", &by_refractometer).await;
    brewer.log("boil", &form("boil_started", &[]), "11:00", &[]).await;
}

async fn boil(brewer: &Brewer) {
    let addition = |planned| form("addition", &[("planned", planned)]);
    brewer.log("boil", &addition("0"), "11:00", &[("mass_kg", "1 oz")]).await;
    brewer.log("boil", &addition("1"), "11:45", &[("mass_kg", "0,5")]).await;
    brewer.log("boil", &addition("3"), "11:45", &[("mass_kg", "5 g")]).await;
    brewer.log("boil", &form("flush_started", &[]), "11:50:00", &[("temperature_c", "190")]).await;
    brewer.log("boil", &form("flush_finished", &[]), "11:51:00", &[("temperature_c", "88 C")]).await;
    brewer.log("boil", &form("flame_out", &[]), "12:00:00", &[]).await;
    let volume = form("volume", &[("point", "post_boil")]);
    brewer.log("boil", &volume, "12:00:30", &[("volume_l", "5,8 gal"), ("temperature_c", "212")]).await;
    let gravity = form("gravity", &[("point", "post_boil")]);
    brewer
        .log(
            "boil",
            &gravity,
            "12:20",
            &[("instrument", "hydrometer"), ("reading", "1.060 SG"), ("temperature_c", "68")],
        )
        .await;
}

async fn chill(brewer: &Brewer) {
    for item in ["fermenter_sanitised", "hoses_sanitised", "airlock_sanitised", "ice_ready"] {
        brewer.tick("chill", item, "11:30").await;
    }
    let bath = [("method", "still_bath"), ("water_l", "4,5 gal"), ("water_c", "54")];
    let ice_bath = [("method", "ice_bath"), ("water_l", "1,5 gal"), ("water_c", "54"), ("ice_kg", "7 lb")];
    brewer.chill("cooling_started", "12:00:00", &bath).await;
    for (time, typed) in [("12:00:00", "98 C"), ("12:05:00", "78 C"), ("12:10:00", "62 C")] {
        brewer.read_wort(time, typed).await;
    }
    brewer.chill("bath_stirred", "12:11:00", &[]).await;
    brewer.read_wort("12:15:00", "122").await;
    brewer.chill("cooling_started", "12:15:00", &bath).await;
    let struck = brewer.read_wort("12:20:00", "42 C").await;
    brewer.strike_out_and_bring_back(&struck).await;
    brewer.read_wort("12:25:00", "36 C").await;
    brewer.chill("cooling_started", "12:25:00", &ice_bath).await;
    brewer.read_wort("12:30:00", "28 C").await;
    brewer.chill("ice_added", "12:31:00", &[("ice_kg", "3 lb")]).await;
    for (time, typed) in [("12:35:00", "22 C"), ("12:40:00", "19.1 C"), ("12:45:00", "19 C")] {
        brewer.read_wort(time, typed).await;
    }
    let slip = brewer.read_wort("12:47:00", "91").await;
    brewer.undo("chill", &slip).await;
    brewer.read_wort("12:50:00", "18,9 C").await;
    brewer.chill("coil_drained", "12:52:00", &[("recovered_l", "1 qt")]).await;
}

async fn pitch(brewer: &Brewer) {
    let volume = form("volume", &[("point", "into_fermenter")]);
    brewer.log("pitch", &volume, "13:00", &[("volume_l", "5,2"), ("temperature_c", "68")]).await;
    let gravity = form("gravity", &[("point", "into_fermenter")]);
    let read = [("instrument", "hydrometer"), ("reading", "1060"), ("temperature_c", "20 C")];
    brewer.log("pitch", &gravity, "13:02", &read).await;
    brewer.log("pitch", &form("note", &[]), "13:05", &[("note", "Shaken for two minutes")]).await;
    brewer.read("pitch", "yeast", "13:08", "64").await;
    let pitched = [("cells_billion", "230"), ("yeast_c", "64"), ("wort_c", "18,9 C")];
    brewer.log("pitch", &form("pitched", &[]), "13:10", &pitched).await;
}

async fn clean(brewer: &Brewer) {
    for (item, time) in [
        ("coil_flushed", "13:20"),
        ("coil_cleaned", "13:30"),
        ("coil_rinsed_after", "13:40"),
        ("coil_drained_after", "13:45"),
        ("coil_blown_dry", "13:50"),
        ("kettle_cleaned_after", "14:00"),
        ("fermenter_put_away", "14:05"),
    ] {
        brewer.tick("clean", item, time).await;
    }
    let coil = |act| form("care", &[("act", act)]);
    brewer.log("clean", &coil("weighed"), "13:55", &[("mass_kg", "6 lb 8 oz")]).await;
    brewer.log("clean", &coil("stored"), "14:06", &[("where", "Hook by the door")]).await;
    brewer.log("clean", &form("stage_finished", &[]), "14:10", &[]).await;
    let last = form("gravity", &[("point", "final")]);
    let read = [("reading", "1.020 SG"), ("temperature_c", "77 F"), ("at", "2025-03-29T10:00")];
    brewer.send(&format!("/batches/{}/clean", brewer.batch), &last, &read).await;
}

impl Brewer {
    /// An entry of the chill, which only needs its own fields.
    async fn chill(&self, kind: &str, time: &str, typed: &[(&str, &str)]) {
        self.log("chill", &form(kind, &[]), time, typed).await;
    }

    async fn read_wort(&self, time: &str, typed: &str) -> String {
        self.read("chill", "wort", time, typed).await
    }

    async fn put_right(&self, entry: &str, typed: &[(&str, &str)]) {
        let path = format!("/batches/{}/entries/{entry}", self.batch);
        let next = self.send(&path, "main form", typed).await;
        assert_eq!(next, format!("/batches/{}?entry={entry}#entry-{entry}", self.batch));
    }

    async fn strike_out_and_bring_back(&self, entry: &str) {
        let struck = format!(".log__one--struck[id='entry-{entry}']");
        self.put_right(entry, &[("void", "true"), ("why", "Not sure of it")]).await;
        assert!(self.page("").await.has(&struck), "it stands in the log, struck out");
        self.put_right(entry, &[("why", "It was right after all")]).await;
        assert!(!self.page("").await.has(&struck), "and counts again");
    }

    async fn undo(&self, stage: &str, entry: &str) {
        let path = format!("/batches/{}/{stage}?saved={entry}", self.batch);
        self.send(&path, ".saved form", &[]).await;
        assert!(self.page("").await.has(&format!(".log__one--struck[id='entry-{entry}']")));
    }
}
