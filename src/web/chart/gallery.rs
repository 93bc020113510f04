//! Every chart on one page, to look at after a change:
//! `cargo test --lib chart_gallery -- --ignored --nocapture` says where it is.

use std::{env, fs};

use super::{
    checks::{ahead, chill, stage},
    *,
};

/// The tokens of `static/`, so that the page stands alone.
const TOKENS: &str = "
:root { --enamel:#fbfbf8; --sheet:#ffffff; --ink:#13203a; --ink-soft:#56627a; --rule:#d9dee8; --rim:#1d3f8f; --hot:#c2410c; --fine:#0b6b50 }
@media (prefers-color-scheme: dark) {
:root { --enamel:#0d1424; --sheet:#121c31; --ink:#eef2fb; --ink-soft:#a3b0c9; --rule:#2a3752; --rim:#8fb0ff; --hot:#ff9a5c; --fine:#5fe0b5 } }
@media print { :root { --enamel:#fff; --sheet:#fff; --ink:#000; --ink-soft:#333; --rim:#000; --hot:#000; --fine:#000 } }
body { margin: 0; padding: 12px; font: 17px 'Atkinson Hyperlegible Next', sans-serif; background: var(--enamel); color: var(--ink) }
.picture { background: var(--sheet); padding: 12px 8px; margin: 0 auto 20px; max-width: 45rem; box-sizing: border-box }
";

fn shown(pictures: &[(&str, Picture)]) -> String {
    let figures = pictures.iter().map(|(name, p)| format!("<h2>{name}</h2><figure class=\"picture\">{p}</figure>"));
    let figures: String = figures.collect();
    format!(
        "<!doctype html><html lang=en-GB><meta charset=utf-8><title>Charts</title>\
         <style>{TOKENS}</style><link rel=stylesheet href=chart.css>{figures}"
    )
}

fn coolings() -> Vec<(&'static str, Picture)> {
    let mut readings: Vec<Point> = [98.0, 87.0, 80.6, 74.5, 69.8, 65.2, 59.0, 55.1, 51.4, 50.0, 43.6]
        .into_iter()
        .enumerate()
        .map(|(i, y)| Point::new(i as f64 * 1.5, y))
        .collect();
    let stages = [stage("bath 1", 0.0), stage("bath 2", 7.0), stage("ice bath", 13.6)];
    let forecast = ahead(readings[10], 14);
    let running = Cooling {
        title: "Cooling curve of Lantern Row Pale, batch 14",
        unit: "°C",
        readings: &readings.clone(),
        stages: &stages,
        forecast: &forecast,
        pitch: Some((18.0, 21.0)),
        target: Some(19.0),
        ..Cooling::default()
    };
    readings.extend(
        [(16.5, 33.0), (18.0, 26.5), (19.5, 20.1), (21.0, 22.4), (23.0, 21.0), (25.0, 19.6)]
            .map(|(x, y)| Point::new(x, y)),
    );
    readings.extend([27.0, 29.0, 31.0, 33.0, 35.0].map(|x| Point::new(x, 19.4)));
    let dip = [Point::new(19.5, 20.1)];
    let many = ["bath 1", "bath 2", "bath 3", "running water", "ice bath"];
    let many: Vec<Stage<'_>> = many.into_iter().zip([0.0, 3.0, 9.0, 10.5, 14.0]).map(|(l, at)| stage(l, at)).collect();
    let done = Cooling {
        readings: &readings,
        stages: &many,
        forecast: &[],
        dips: &dip,
        settled: readings.last().copied(),
        ..running
    };
    let hot = |p: &Point| Point::new(p.x, p.y * 1.8 + 32.0);
    let fahrenheit: Vec<Point> = readings[..14].iter().map(hot).collect();
    let us = Cooling {
        unit: "°F",
        readings: &fahrenheit,
        forecast: &[],
        pitch: Some((64.0, 70.0)),
        target: None,
        ..running
    };
    let probe = chill(60.0, 17.0, 0.05);
    let probe = Cooling { readings: &probe, stages: &stages, forecast: &[], ..running };
    let first = Cooling { readings: &readings[..1], stages: &stages[..1], forecast: &[], ..running };
    vec![
        ("Running", running.svg()),
        ("Settled, five stages", done.svg()),
        ("Fahrenheit, passing dip", us.svg()),
        ("Probe", probe.svg()),
        ("First reading", first.svg()),
        ("None yet", Cooling { title: "None", unit: "°C", ..Cooling::default() }.svg()),
    ]
}

fn comparisons() -> Vec<(&'static str, Picture)> {
    let chills: Vec<Vec<Point>> = [
        (31.0, 18.2, 1.5),
        (44.0, 20.4, 2.0),
        (27.0, 17.0, 3.0),
        (38.0, 24.0, 1.0),
        (50.0, 21.0, 2.5),
        (22.0, 15.0, 1.0),
        (36.0, 19.0, 2.0),
    ]
    .into_iter()
    .map(|(minutes, floor, every)| chill(minutes, floor, every))
    .collect();
    let labels = [
        "14 Lantern Row Pale",
        "13 Wet Slate",
        "12 Lantern Row Pale",
        "11 Brickfield",
        "10 Kiln Lane",
        "9 Wet Slate",
        "8 Long Porter",
    ];
    let runs: Vec<Run<'_>> =
        labels.iter().zip(&chills).map(|(label, r)| Run { name: label, label, readings: r }).collect();
    let overlay = |runs| Overlay { title: "Chills compared", unit: "°C", runs }.pictures().remove(0);
    let small: Vec<Picture> = runs
        .iter()
        .map(|r| {
            Spark {
                title: r.name,
                unit: "°C",
                readings: r.readings,
                target: Some(19.0),
                fit: Some((50.0, (15.0, 98.0))),
            }
            .svg()
        })
        .collect();
    let mut shown = vec![("Four", overlay(&runs[..4])), ("Two", overlay(&runs[..2])), ("Seven", overlay(&runs))];
    shown.extend(small.into_iter().take(3).map(|p| ("Row", p)));
    shown
}

fn histories() -> Vec<(&'static str, Picture)> {
    let line = |pairs: &[(f64, f64)]| pairs.iter().map(|(x, y)| Point::new(*x, *y)).collect::<Vec<_>>();
    let strike = line(&[(540.0, 12.0), (555.0, 40.0), (570.0, 72.5)]);
    let mash = line(&[(578.0, 67.2), (590.0, 66.8), (605.0, 66.5), (630.0, 66.0), (640.0, 65.8)]);
    let wort = line(&[
        (690.0, 71.0),
        (705.0, 92.0),
        (716.0, 100.0),
        (776.0, 99.6),
        (779.0, 80.0),
        (783.0, 66.0),
        (790.0, 43.0),
        (796.0, 27.0),
        (806.0, 19.4),
    ]);
    let traces = [
        Trace { label: "strike water", readings: &strike },
        Trace { label: "mash", readings: &mash },
        Trace { label: "wort", readings: &wort },
    ];
    let event = |at, label, kind| Event { at, label, kind };
    let events = [
        event(575.0, "mash", EventKind::Stage),
        event(716.0, "boil", EventKind::Stage),
        event(776.0, "chill", EventKind::Stage),
        event(812.0, "pitch", EventKind::Stage),
        event(580.0, "calcium chloride 4 g", EventKind::Addition),
        event(692.0, "first wort hop 12 g", EventKind::Addition),
        event(731.0, "hop 25 g", EventKind::Addition),
        event(761.0, "kettle finings 2 g", EventKind::Addition),
        event(771.0, "hop 30 g", EventKind::Addition),
        event(776.0, "flame-out", EventKind::Other),
        event(768.0, "hot flush", EventKind::Other),
    ];
    let k = [(398.0, 31.0), (412.0, 18.0), (405.0, 22.0), (371.0, 25.0), (342.0, 15.0), (418.0, 12.0)];
    let batches = ["8", "9", "10", "12", "13", "14"];
    let estimates: Vec<Estimate<'_>> = batches
        .iter()
        .zip(k)
        .map(|(label, (value, se))| Estimate { label, value, error: Some(se), is_apart: false })
        .collect();
    let trend = Trend {
        title: "K of the copper coil",
        what: "K",
        unit: "W/K",
        along: "batch",
        estimates: &estimates,
        level: Some(("median of the last five", 405.0)),
        apart: "in running water",
    };
    vec![
        ("Day", Day { title: "The day of batch 14", unit: "°C", traces: &traces, events: &events }.svg()),
        ("Trend", trend.svg()),
        ("Trend of one", Trend { estimates: &estimates[..1], level: None, ..trend }.svg()),
    ]
}

#[test]
#[ignore = "writes pages to look at"]
#[allow(clippy::print_stdout)]
fn chart_gallery() {
    let folder = env::temp_dir().join("gylebook-charts");
    fs::create_dir_all(&folder).expect("a folder for temporary files");
    fs::write(folder.join("chart.css"), include_str!("../../../static/chart.css")).expect("the style sheet");
    for (name, pictures) in [("cooling", coolings()), ("comparison", comparisons()), ("history", histories())] {
        let file = folder.join(name).with_extension("html");
        fs::write(&file, shown(&pictures)).expect("the page");
        println!("{}", file.display());
    }
}
