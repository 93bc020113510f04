//! What holds for every chart, whatever it draws: it is well-formed, says what
//! it shows, stays inside its box, and no words cover others.

use proptest::prelude::*;

use super::{labels::Area, svg::Anchor, *};

const TYPED: &str = "</title> \"Öl\" & <b>'x'</b>\u{0}";

pub(super) fn chill(minutes: f64, floor: f64, every: f64) -> Vec<Point> {
    let steps = (minutes / every) as u32;
    let at = |i| f64::from(i) * every;
    (0..=steps)
        .map(|i| Point::new(at(i), floor + (97.0 - floor) * (-at(i) / 14.0).exp() + (at(i) * 2.3).sin() * 0.4))
        .collect()
}

pub(super) fn ahead(from: Point, minutes: u32) -> Vec<Forecast> {
    (1..=minutes)
        .map(|i| {
            let likely = 12.0 + (from.y - 12.0) * (-f64::from(i) / 18.0).exp();
            let doubt = 0.25 * f64::from(i);
            Forecast { at: from.x + f64::from(i), low: likely - doubt, likely, high: likely + doubt }
        })
        .collect()
}

pub(super) const fn stage(label: &str, from: f64) -> Stage<'_> {
    Stage { label, from, until: None }
}

/// Checks one picture and gives it back.
fn sound(picture: Picture) -> Picture {
    let tree = roxmltree::Document::parse(picture.as_str()).unwrap_or_else(|e| panic!("{e}: {picture}"));
    let root = tree.root_element();
    assert_eq!(root.attribute("role"), Some("img"));
    let told = |name| root.children().find(|n| n.has_tag_name((root.tag_name().namespace().unwrap(), name)));
    assert!(told("title").is_some());
    assert!(
        told("desc").and_then(|n| n.text()).is_some_and(|words| words.ends_with(['.', ' ', '>']) || words.len() > 9)
    );
    assert!(!picture.as_str().contains("NaN") && !picture.as_str().contains("inf"), "{picture}");
    let banned = ["style", "transform", "rotate", "href", "onload"];
    let attributes = root.descendants().flat_map(|n| n.attributes().map(|a| a.name().to_owned()));
    assert!(attributes.into_iter().all(|name| !banned.contains(&name.as_str())));

    let size: Vec<f64> = root.attribute("viewBox").unwrap().split(' ').map(|v| v.parse().unwrap()).collect();
    let number = |n: &roxmltree::Node<'_, '_>, name| n.attribute(name).unwrap().parse::<f64>().unwrap();
    let words: Vec<(String, Area)> = root
        .descendants()
        .filter(|n| n.tag_name().name() == "text")
        .map(|n| {
            let anchor = match n.attribute("text-anchor") {
                Some("end") => Anchor::End,
                Some("middle") => Anchor::Middle,
                _ => Anchor::Start,
            };
            let shift = n
                .attribute("dy")
                .map_or(0.0, |dy| dy.trim_end_matches("em").parse::<f64>().unwrap() * super::text::SIZE);
            let said = n.text().unwrap_or_default().to_owned();
            let area = Area::of_words(&said, anchor, Point::new(number(&n, "x"), number(&n, "y") + shift));
            (said, area)
        })
        .collect();
    for (i, (said, area)) in words.iter().enumerate() {
        let inside = area.left > -1.0 && area.right < size[2] + 1.0 && area.top > -1.0 && area.bottom < size[3] + 1.0;
        assert!(inside, "{said:?} leaves the drawing: {area:?} of {size:?}");
        for (other, taken) in &words[i + 1..] {
            assert!(!area.overlaps(taken), "{said:?} covers {other:?}: {area:?}, {taken:?}");
        }
    }
    for node in root.descendants().filter(|n| n.has_attribute("points")) {
        for pair in node.attribute("points").unwrap().split(' ') {
            let (x, y) = pair.split_once(',').unwrap();
            let (x, y): (f64, f64) = (x.parse().unwrap(), y.parse().unwrap());
            assert!((-6.0..=size[2] + 6.0).contains(&x) && (-6.0..=size[3] + 6.0).contains(&y), "{x},{y} of {size:?}");
        }
    }
    let gridlines = root.descendants().filter(|n| n.attribute("class") == Some("grid")).count();
    assert!(gridlines <= 7 || root.attribute("class") == Some("chart chart-panels"), "{gridlines} gridlines");
    picture
}

fn every_chart(points: &[Point], label: &str) -> Vec<Picture> {
    let forecast = points.last().map_or_else(Vec::new, |p| ahead(*p, 12));
    let stages = [stage(label, 0.0), stage("bath 2", 1.0), stage("ice bath", 9.0)];
    let run = Run { name: label, label, readings: points };
    let events = [
        Event { at: 600.0, label: "mash", kind: EventKind::Stage },
        Event { at: 602.0, label, kind: EventKind::Addition },
        Event { at: 603.0, label, kind: EventKind::Other },
    ];
    let estimates: Vec<Estimate<'_>> =
        points.iter().take(40).map(|p| Estimate { label, value: p.y, error: Some(p.x), is_apart: p.x > 9.0 }).collect();
    let cooling = Cooling {
        title: label,
        unit: "°C",
        readings: points,
        stages: &stages,
        forecast: &forecast,
        pitch: Some((18.0, 21.0)),
        target: Some(19.0),
        dips: points.get(3..4).unwrap_or_default(),
        settled: points.last().copied(),
    };
    let overlay = |runs| Overlay { title: label, unit: "°C", runs }.pictures().remove(0);
    let trace = Trace { label, readings: points };
    vec![
        cooling.svg(),
        Cooling { title: label, unit: "°C", readings: points, ..Cooling::default() }.svg(),
        overlay(&[run, run]),
        overlay(&[run; 7]),
        Day { title: label, unit: "°C", traces: &[trace, trace], events: &events }.svg(),
        Trend {
            title: label,
            what: "K",
            unit: "W/K",
            along: "batch",
            estimates: &estimates,
            level: Some(("median", 5.0)),
            apart: "in running water",
        }
        .svg(),
        Spark { title: label, unit: "°C", readings: points, target: Some(19.0), fit: None }.svg(),
    ]
}

#[test]
fn nothing_one_reading_and_level_readings_all_draw() {
    let level: Vec<Point> = (0..20).map(|i| Point::new(f64::from(i), 20.0)).collect();
    let odd = [f64::NAN, f64::INFINITY, 1e300, -40.0].map(|v| Point::new(v, v));
    for points in [&[][..], &[Point::new(3.0, 67.5)], &level, &odd, &chill(48.0, 16.0, 1.5)] {
        every_chart(points, TYPED).into_iter().for_each(|picture| {
            sound(picture);
        });
    }
}

#[test]
fn a_hundred_thousand_readings_make_a_small_picture() {
    let probe = chill(60.0, 16.0, 60.0 / 100_000.0);
    assert!(probe.len() >= 100_000);
    for picture in every_chart(&probe, "probe") {
        let bytes = sound(picture).as_str().len();
        assert!(bytes < 64 * 1024, "{bytes} bytes");
    }
    let cooling = Cooling { title: "t", unit: "°C", readings: &probe, ..Cooling::default() };
    assert!(cooling.table().rows.len() <= super::table::MOST_ROWS);
    assert_eq!(cooling.csv().lines().count(), probe.len() + 1);
}

#[test]
fn a_chill_says_its_figures() {
    let readings = [Point::new(0.0, 97.5), Point::new(6.0, 70.0), Point::new(7.0, 66.0), Point::new(8.0, 68.25)];
    let cooling = Cooling {
        title: "Chill",
        unit: "°C",
        readings: &readings,
        stages: &[stage("bath 1", 0.0), stage("bath 2", 6.5)],
        dips: &readings[2..3],
        ..Cooling::default()
    };
    let picture = sound(cooling.svg());
    let wanted = "<desc>The wort went from 97.5 to 68.2 °C between 0 and 8 min after flame-out, in 4 readings. \
                  Cooling stages: bath 1 from 0 min, bath 2 from 6 min. Passing dip to 66.0 °C at 7 min.</desc>";
    assert!(picture.as_str().contains(wanted), "{picture}");
    let rows = cooling.table().rows;
    assert_eq!(rows[2], ["7.0", "66.0", "bath 2", "passing dip"]);
}

#[test]
fn a_day_tells_its_order_past_midnight() {
    let wort = [Point::new(1_500.0, 19.5), Point::new(1_430.0, 98.0), Point::new(f64::NAN, 1.0)];
    let day = Day {
        title: "Night brew",
        unit: "°C",
        traces: &[Trace { label: "wort", readings: &wort }],
        events: &[Event { at: 1_445.0, label: "hop 25 g", kind: EventKind::Addition }],
    };
    let picture = sound(day.svg());
    let wanted = "<desc>From 23:50 to 01:00. The wort: 19.5 to 98.0 °C. 1 addition, all in the table.</desc>";
    assert!(picture.as_str().contains(wanted), "{picture}");
    assert!(picture.as_str().contains("<title>00:05 hop 25 g</title>"));
    let table = day.table();
    assert_eq!(table.rows, [["23:50", "wort", "98.0"], ["00:05", "hop 25 g", ""], ["01:00", "wort", "19.5"]]);
    assert_eq!(table.caption, "Night brew");
}

#[test]
fn a_comparison_and_a_trend_say_their_figures() {
    let (quick, slow) = (chill(20.0, 18.0, 2.0), [Point::new(0.0, 96.0), Point::new(45.0, 21.26)]);
    let runs =
        [Run { name: "Batch 1", label: "1", readings: &quick }, Run { name: "Batch 2", label: "2", readings: &slow }];
    let overlay = Overlay { title: "Two", unit: "°C", runs: &runs };
    assert!(sound(overlay.pictures().remove(0)).as_str().contains("Batch 2: 21.3 °C after 45 min.</desc>"));
    assert_eq!(overlay.table().rows.last().unwrap(), &["Batch 2", "45.0", "21.3"]);

    let estimates = [
        Estimate { label: "8", value: 398.0, error: Some(31.0), is_apart: false },
        Estimate { label: "9", value: 412.4, error: None, is_apart: false },
    ];
    let trend =
        Trend { title: "K", what: "K", unit: "W/K", along: "batch", estimates: &estimates, level: None, apart: "" };
    let wanted =
        "<desc>K, 2 figures: 398 to 412 W/K; the latest, batch 9, is 412 W/K. Bars show one standard error each way.";
    assert!(sound(trend.svg()).as_str().contains(wanted));
    assert_eq!(trend.csv(), "batch,\"K, W/K\",Standard error\r\n8,398.0,31.0\r\n9,412.4,\r\n");
}

#[test]
fn a_figure_measured_in_another_way_stands_apart_from_the_line() {
    let estimate = |label, value, is_apart| Estimate { label, value, error: None, is_apart };
    let estimates = [estimate("7", 400.0, false), estimate("8", 520.0, true), estimate("9", 410.0, false)];
    let trend = Trend {
        title: "K",
        what: "K",
        unit: "W/K",
        along: "batch",
        estimates: &estimates,
        level: None,
        apart: "in running water",
    };
    let picture = sound(trend.svg());
    let drawn = picture.as_str();
    let line = drawn.split_once("class=\"between\" points=\"").expect("a line").1;
    assert_eq!(line.split_once('"').expect("its end").0.split(' ').count(), 2, "{drawn}");
    assert_eq!(drawn.matches("value--apart").count(), 1);
    for told in [
        "<title>8: 520 W/K, in running water</title>",
        "Apart, in running water: batch 8.",
        "squares: in running water",
    ] {
        assert!(drawn.contains(told), "{told}: {drawn}");
    }
}

#[test]
fn beyond_four_batches_each_gets_a_frame_of_its_own() {
    let readings = chill(30.0, 18.0, 2.0);
    let run = Run { name: "n", label: "n", readings: &readings };
    let lines = |runs: &[Run<'_>]| {
        let picture = Overlay { title: "t", unit: "°C", runs }.pictures().remove(0);
        (picture.as_str().contains("chart-panels"), picture.as_str().matches("series-").count() > 0)
    };
    assert_eq!((lines(&[run; 4]), lines(&[run; 5])), ((false, true), (true, false)));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn any_readings_and_any_words_make_a_sound_picture(
        points in prop::collection::vec((-1e3..1e4_f64, -100.0..300.0_f64), 0..40),
        label in "\\PC{0,30}",
    ) {
        let points: Vec<Point> = points.into_iter().map(|(x, y)| Point::new(x, y)).collect();
        every_chart(&points, &label).into_iter().for_each(|picture| { sound(picture); });
    }

    #[test]
    fn stage_names_never_cover_one_another(gaps in prop::collection::vec(0.0..12.0_f64, 1..9)) {
        let mut from = 0.0;
        let stages: Vec<Stage<'_>> = gaps
            .iter()
            .zip(["bath 1", "bath 2", "ice bath", "running water", "air", "bath 6", "ice bath", "bath 8"])
            .map(|(gap, label)| { let s = stage(label, from); from += gap; s })
            .collect();
        let readings = chill(from + 4.0, 15.0, 1.0);
        sound(Cooling { title: "t", unit: "°C", readings: &readings, stages: &stages, ..Cooling::default() }.svg());
    }
}
