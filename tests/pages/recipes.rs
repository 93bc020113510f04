//! `/recipes…`, as a brewer without scripts uses it.

use axum::http::StatusCode;
use gylebook::brewday::{
    Recipe, Units,
    choices::{ColourUnit, GravityUnit, MassUnit, TemperatureUnit, VolumeUnit},
};
use serde_json::json;
use time::OffsetDateTime;

use crate::book::TestBook;

/// A recipe as it is typed.
const TYPED: &[(&str, &str)] = &[
    ("name", "Slate Roof Pale"),
    ("volume_l", "20"),
    ("boil_min", "60"),
    ("target_pitch_c", "19"),
    ("pitch_low_c", "17"),
    ("pitch_high_c", "21"),
    ("fermentables.0.name", "Pale malt"),
    ("fermentables.0.mass_kg", "4,5"),
    ("fermentables.0.yield_pct", "81"),
    ("fermentables.0.moisture_pct", "4.5"),
    ("fermentables.0.colour_ebc", "6"),
    ("fermentables.0.use", "mash"),
    ("hops.0.name", "Bittering hop"),
    ("hops.0.mass_kg", "40"),
    ("hops.0.alpha_pct", "5"),
    ("hops.0.use", "boil"),
    ("hops.0.min", "60"),
    ("hops.0.form", "pellet"),
    ("yeast.name", ""),
    ("yeast.kind", "lager"),
    ("yeast.form", "dry"),
    ("notes", "One.\r\nTwo."),
];

/// What it should give, reckoned by hand.
///
/// 4.5 kg · 0.955 · 0.81 · 75 % = 2.61 kg of extract in 20 L: 12.5 °P by the
/// published table (tests/published/values, 01), so 1.050. Tinseth's table gives
/// 60 min at 1.050 a utilisation of 0.231: 40 g · 5 % · 0.231 / 20 L = 23 mg/L.
/// Morey on 9.92 lb of 2.7 °L in 5.28 US gal: 1.4922 · 5.10^0.6859 = 4.6 SRM, 9.0 EBC.
const EXPECTED: &str = "1.050 SG 23 IBU 9.0 EBC";

/// The same with some of its texts changed or added.
fn typed(changes: &[(&str, &str)]) -> Vec<(String, String)> {
    let kept = TYPED.iter().filter(|(name, _)| !changes.iter().any(|(changed, _)| changed == name));
    kept.chain(changes).map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect()
}

async fn with_recipe() -> TestBook {
    let book = TestBook::open().await;
    let answer = book.post_form("/recipes", TYPED).await;
    assert_eq!((answer.status, answer.location.as_deref()), (StatusCode::SEE_OTHER, Some("/recipes/1")));
    book
}

async fn kept(book: &TestBook, id: i64) -> (i64, Recipe) {
    let record = book.store.recipe(id).await.expect("the book").expect("the recipe");
    (record.revision, record.recipe)
}

#[tokio::test]
async fn an_empty_book_leads_to_a_first_recipe() {
    let book = TestBook::open().await;
    let empty = book.get("/recipes").await;
    assert!(empty.has("main a[href='/recipes/new']"));
    assert!(empty.has("form[action='/recipes/starter'] button"));
    let taken = book.post_form::<&str, &str>("/recipes/starter", &[]).await;
    assert_eq!(taken.location.as_deref(), Some("/recipes/1"));
    assert!(!book.get("/recipes").await.has("form[action='/recipes/starter']"));
    let page = book.get("/recipes/1").await;
    assert_eq!(page.texts(".trio dt"), ["Original gravity", "Bitterness", "Colour"]);
    assert!(page.texts(".trio .note").iter().filter(|note| note.starts_with("Estimate")).count() == 2);
}

#[tokio::test]
async fn a_typed_recipe_is_kept_and_read_as_a_brewer_reads_it() {
    let book = with_recipe().await;
    let (revision, recipe) = kept(&book, 1).await;
    assert_eq!((revision, recipe.fermentables[0].mass_kg, recipe.hops[0].mass_kg), (1, 4.5, 0.04));
    assert_eq!((recipe.yeast, recipe.notes.as_deref()), (None, Some("One.\nTwo.")), "no yeast was named");
    let page = book.get("/recipes/1").await;
    assert_eq!(page.texts("h1"), ["Slate Roof Pale"]);
    assert_eq!(page.texts(".grist__share"), ["100 % of it all"]);
    assert_eq!(page.texts(".timeline__when"), ["60 min"]);
    assert!(page.has("a[href='/batches/new?recipe=1']"));
    let list = book.get("/recipes").await;
    assert_eq!(list.texts(".recipe-line__figures"), [EXPECTED]);
}

#[tokio::test]
async fn an_edit_is_the_next_revision_and_no_change_is_none() {
    let book = with_recipe().await;
    let form = book.get("/recipes/1/edit").await;
    let untouched = book.post_form("/recipes/1", &form.fields("#recipe")).await;
    assert_eq!(untouched.location.as_deref(), Some("/recipes/1"));
    assert_eq!(kept(&book, 1).await.0, 1, "nothing was changed");
    // The same mass in another unit is the same recipe.
    book.post_form("/recipes/1", &typed(&[("fermentables.0.mass_kg", "4500 g")])).await;
    assert_eq!(kept(&book, 1).await.0, 1, "nothing was meant otherwise");

    book.post_form("/recipes/1", &typed(&[("hops.0.mass_kg", "45")])).await;
    let (revision, recipe) = kept(&book, 1).await;
    assert_eq!((revision, recipe.hops[0].mass_kg), (2, 0.045));
    let earlier = book.get("/recipes/1/revisions/1").await;
    assert!(earlier.texts(".timeline__mass").contains(&"40 g".to_owned()));
    assert!(earlier.texts(".banner")[0].contains("The newest is number 2"));
    assert!(!earlier.has("a[href='/batches/new?recipe=1']"), "an earlier revision isn't brewed by a slip");
    let back = book.get("/recipes/1/edit?revision=1").await;
    assert_eq!(back.value("hops.0.mass_kg").as_deref(), Some("40"));
    assert_eq!(book.get("/recipes/1/revisions/3").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_recipe_of_many_years_shows_the_latest_and_leads_to_those_before() {
    let book = with_recipe().await;
    for number in 0..45 {
        book.post_form("/recipes/1", &typed(&[("hops.0.mass_kg", &format!("{}", 41 + number))])).await;
        book.post_json("/api/v1/batches", &json!({ "recipe": 1 })).await;
    }
    let (mut path, mut shown) = ("/recipes/1".to_owned(), Vec::new());
    loop {
        let page = book.get(&path).await;
        let revisions = page.texts("[aria-labelledby='revisions'] .records__name");
        assert!(revisions.len() <= 20);
        shown.extend(revisions.iter().map(|name| name.split(',').next().unwrap_or_default().to_owned()));
        let Some(before) = page.attributes("[aria-labelledby='revisions'] > p a", "href").pop() else { break };
        path = before.replace("#revisions", "");
    }
    assert_eq!(shown, (1..=46).rev().map(|number| format!("Revision {number}")).collect::<Vec<_>>());
    let last = book.get(&path).await;
    assert_eq!(last.texts("[aria-labelledby='revisions'] .records__about").last().unwrap(), "The first.");
    for (skip, lines, more) in [(0, 20, true), (20, 20, true), (40, 5, false), (60, 0, false)] {
        let page = book.get(&format!("/recipes/1?batches={skip}")).await;
        let batches = page.texts("[aria-labelledby='batches'] .records__name").len();
        assert_eq!((batches, page.has("[aria-labelledby='batches'] > p a")), (lines, more), "{skip}");
    }
}

#[tokio::test]
async fn what_cannot_be_kept_comes_back_as_it_was_typed() {
    let long = "x".repeat(121);
    let bad: &[(&str, &str, &str)] = &[
        ("name", "  ", "This is needed."),
        ("name", &long, "This is too long: at most 120 are kept."),
        ("volume_l", "", "This is needed."),
        ("volume_l", "twenty", "“twenty” is no number that can be read here. Type it like 4.5."),
        ("volume_l", "2001", "2001 L is outside what a volume can be: more than 0, up to 2000 L."),
        ("boil_min", "-1", "−1 min is outside what a time can be: 0 to 1440 min."),
        ("target_pitch_c", "25", "The pitch target lies outside the pitch range."),
        ("pitch_low_c", "22", "The low end of the pitch range is above its high end."),
        (
            "fermentables.0.mass_kg",
            "4 gal",
            "“gal” can't be read here. Type kg, lb, g, oz or mg after the number, or the number alone.",
        ),
        ("fermentables.0.yield_pct", "101", "101 % is outside what a percentage can be: 0 to 100 %."),
        ("fermentables.0.name", "", "This is needed."),
        ("fermentables.0.use", "oven", "Choose one of these."),
        ("hops.0.min", "90", "90 min is longer than the boil of 60 min."),
        ("hops.0.alpha_pct", "", "This is needed."),
    ];
    let book = with_recipe().await;
    for (name, text, sentence) in bad {
        for path in ["/recipes", "/recipes/1"] {
            let answer = book.post_form(path, &typed(&[(name, text)])).await;
            assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{name} = {text:?}");
            assert_eq!(answer.texts(".field__fault"), [*sentence], "{name} = {text:?}");
            assert!(answer.has(&format!(".summary a[href='#{name}']")), "{name} is in the summary");
            assert!(answer.has(&format!("[id='{name}']")), "the summary leads somewhere");
            for (other, was) in typed(&[(name, text)]) {
                let is_choice = other == *name && *text == "oven";
                if !is_choice {
                    assert_eq!(answer.value(&other).as_deref(), Some(was.as_str()), "{other} beside {name} = {text:?}");
                }
            }
        }
    }
    assert_eq!(book.store.recipes("", false).await.expect("the book").len(), 1);
    assert_eq!(kept(&book, 1).await.0, 1);
}

#[tokio::test]
async fn rows_come_and_go_without_scripts_and_without_loss() {
    let book = TestBook::open().await;
    let two = typed(&[
        ("hops.3.name", "Late hop"),
        ("hops.3.mass_kg", "not yet"),
        ("hops.3.use", "flame_out"),
        ("hops.3.form", "cone"),
    ]);
    let press = async |button: &str| {
        let fields = two.iter().cloned().chain([("row".to_owned(), button.to_owned())]).collect::<Vec<_>>();
        book.post_form("/recipes", &fields).await
    };
    let names = |page: &crate::book::Answer| {
        let fields = page.fields("#recipe").into_iter();
        fields
            .filter(|(name, _)| name.starts_with("hops.") && name.ends_with(".name"))
            .map(|(_, text)| text)
            .collect::<Vec<_>>()
    };
    let more = press("add-hops").await;
    assert_eq!(
        (more.status, names(&more)),
        (StatusCode::OK, vec!["Bittering hop".into(), "Late hop".into(), String::new()])
    );
    assert!(more.has("#hops-new"), "the new row can be jumped to");
    assert_eq!(more.value("hops.1.mass_kg").as_deref(), Some("not yet"), "what can't be read yet stays");
    assert!(!more.has(".summary"), "nothing is found wanting before it is to be kept");
    // The numbers are those the page was made with, whatever gaps there were.
    let fewer = press("remove-hops-0").await;
    assert_eq!(names(&fewer), ["Late hop"]);
    assert_eq!(names(&press("remove-hops-3").await), ["Bittering hop"]);
    assert_eq!(names(&press("remove-hops-9").await), ["Bittering hop", "Late hop"]);
    assert_eq!(names(&press("figures").await), ["Bittering hop", "Late hop"]);
    assert!(book.store.recipes("", false).await.expect("the book").is_empty(), "no button but Keep keeps");
}

#[tokio::test]
async fn figures_follow_what_is_typed_and_say_what_they_lack() {
    let book = TestBook::open().await;
    let whole = book.post_form("/recipes/preview", TYPED).await;
    assert_eq!(whole.texts("#brief"), [EXPECTED]);
    let partly = book.post_form("/recipes/preview", &typed(&[("name", ""), ("hops.0.alpha_pct", "")])).await;
    assert_eq!(partly.texts("#brief"), ["1.050 SG 9.0 EBC"]);
    assert!(partly.texts("#outlook")[0].contains("Left out until complete: Hop 1 (alpha acids)."));
    let none = book.post_form("/recipes/preview", &typed(&[("volume_l", "")])).await;
    assert_eq!(none.texts("#brief"), ["Figures follow once these are typed: Volume."]);
    let dry = book.post_form("/recipes/preview", &[("volume_l", "20"), ("boil_min", "60")]).await;
    assert!(dry.texts("#outlook")[0].contains("The recipe has no malt in the mash."));
    let button = typed(&[("figures", "now"), ("volume_l", "10")]);
    let page = book.post_form("/recipes", &button).await;
    assert_eq!((page.status, page.value("volume_l").as_deref()), (StatusCode::OK, Some("10")));
    assert!(page.has("#outlook .trio"));
}

#[tokio::test]
async fn another_volume_is_shown_before_it_is_kept() {
    let book = with_recipe().await;
    let page = book.get("/recipes/1/scale?volume_l=12").await;
    assert_eq!(page.texts("tbody td:last-child"), ["2.7 kg", "24 g"]);
    assert_eq!(kept(&book, 1).await.0, 1, "looking keeps nothing");
    let fields = [("volume_l", "12"), ("keep", "recipe")];
    assert_eq!(book.post_form("/recipes/1/scale", &fields).await.location.as_deref(), Some("/recipes/2"));
    let (_, small) = kept(&book, 2).await;
    assert_eq!((small.name.as_str(), small.volume_l), ("Slate Roof Pale, 12.0\u{a0}L", 12.0));
    assert!((small.fermentables[0].mass_kg - 2.7).abs() < 1e-12);
    book.post_form("/recipes/1/scale", &[("volume_l", "40"), ("keep", "revision")]).await;
    let (revision, large) = kept(&book, 1).await;
    assert_eq!((revision, large.name.as_str(), large.volume_l), (2, "Slate Roof Pale", 40.0));
    for bad in ["", "0", "lots", "2000000"] {
        let answer = book.get(&format!("/recipes/1/scale?volume_l={bad}")).await;
        assert_eq!(answer.status, StatusCode::UNPROCESSABLE_ENTITY, "{bad:?}");
        assert_eq!(answer.value("volume_l").as_deref(), Some(bad));
    }
}

#[tokio::test]
async fn a_copy_is_a_filled_form_and_nothing_more_until_it_is_kept() {
    let book = with_recipe().await;
    let copy = book.get("/recipes/new?from=1").await;
    assert_eq!(copy.value("name").as_deref(), Some("Slate Roof Pale, again"));
    assert_eq!(book.store.recipes("", false).await.expect("the book").len(), 1);
    book.post_form("/recipes", &copy.fields("#recipe")).await;
    let (_, original) = kept(&book, 1).await;
    let (_, copied) = kept(&book, 2).await;
    assert_eq!(Recipe { name: original.name.clone(), ..copied }, original);
    assert_eq!(book.get("/recipes/new?from=9").await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_recipe_put_away_leaves_the_list_and_can_be_taken_back() {
    let book = with_recipe().await;
    book.post_form::<&str, &str>("/recipes/1/put-away", &[]).await;
    assert!(!book.get("/recipes").await.text.contains("Slate Roof Pale"));
    assert!(book.get("/recipes?away=yes").await.has("a[href='/recipes/1']"));
    let page = book.get("/recipes/1").await;
    assert!(!page.has("a[href='/batches/new?recipe=1']"));
    assert!(page.has("form[action='/recipes/1/take-back']"));
    book.post_form::<&str, &str>("/recipes/1/take-back", &[]).await;
    assert!(book.get("/recipes?q=roof").await.has("a[href='/recipes/1']"));
    assert!(book.get("/recipes?q=cellar").await.texts(".empty")[0].contains("“cellar”"));
    assert_eq!(book.post_form::<&str, &str>("/recipes/9/put-away", &[]).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn another_set_of_units_changes_nothing_that_is_kept() {
    let book = TestBook::open().await;
    let recipe = Recipe::from_body(&json!({
        "name": "Metric", "volume_l": 19.3, "boil_min": 75, "mash_water_l": 13.37,
        "target_pitch_c": 18.7, "pitch_low_c": 16.1, "pitch_high_c": 21.3,
        "fermentables": [
            {"name": "Malt", "mass_kg": 4.321, "yield_pct": 80.7, "moisture_pct": 4.3, "colour_ebc": 7.3, "use": "mash"},
        ],
        "hops": [{"name": "Hop", "mass_kg": 0.0333, "alpha_pct": 6.7, "form": "cone", "use": "boil", "min": 55}],
        "mash_rests": [{"temperature_c": 66.7, "min": 60}],
    }));
    let recipe = recipe.expect("a sound recipe");
    book.store.add_recipe(&recipe, OffsetDateTime::now_utc()).await.expect("kept");
    book.speak(Units {
        temperature: TemperatureUnit::Fahrenheit,
        volume: VolumeUnit::UsGallons,
        mass: MassUnit::Avoirdupois,
        gravity: GravityUnit::Plato,
        colour: ColourUnit::Srm,
    })
    .await;
    let form = book.get("/recipes/1/edit").await;
    assert!(form.texts(".field__unit").iter().all(|unit| !["kg", "g", "L", "°C", "EBC"].contains(&unit.as_str())));
    let fields = form.fields("#recipe");
    book.post_form("/recipes/1", &fields).await;
    assert_eq!(kept(&book, 1).await, (1, recipe.clone()), "untouched, it is the very same");
    // Where one field is changed, the others keep what the form showed, however often.
    let mut once = None;
    for turn in 2..6 {
        let mut fields = book.get("/recipes/1/edit").await.fields("#recipe");
        let notes = fields.iter_mut().find(|(name, _)| name == "notes").expect("the notes");
        notes.1 = format!("Turn {turn}");
        book.post_form("/recipes/1", &fields).await;
        let (revision, now) = kept(&book, 1).await;
        assert_eq!(revision, turn);
        let first = once.get_or_insert_with(|| now.clone());
        assert_eq!(Recipe { notes: first.notes.clone(), ..now }, *first, "no drift from one edit to the next");
    }
    let now = once.expect("an edit");
    // A form shows six figures of a converted value: a millionth is the most it may be off.
    let close = |now: f64, was: f64| assert!((now - was).abs() <= 1e-6 * was.abs(), "{now} was {was}");
    close(now.volume_l, recipe.volume_l);
    close(now.target_pitch_c, recipe.target_pitch_c);
    close(now.mash_rests[0].temperature_c, recipe.mash_rests[0].temperature_c);
    close(now.fermentables[0].mass_kg, recipe.fermentables[0].mass_kg);
    close(now.fermentables[0].colour_ebc, recipe.fermentables[0].colour_ebc);
    close(now.hops[0].mass_kg, recipe.hops[0].mass_kg);
}
