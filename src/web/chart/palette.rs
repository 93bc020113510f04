//! Measures the colours in `static/chart.css`.
//!
//! Contrast is WCAG 2.2's (relative luminance). Colour-blind eyes are simulated
//! by the full-severity matrices of Machado, Oliveira and Fernandes, "A
//! Physiologically-based Model for Simulation of Color Vision Deficiency"
//! (IEEE TVCG 15, 2009), applied to linear RGB. The matrices are those of the
//! Python library colorspacious 1.1.2 (`machado_et_al_2009_matrix`, severity
//! 100), which also gave the CIELAB value (CIE 15, D65) in the first test.

/// WCAG 2.2 SC 1.4.11: lines that carry meaning.
const LEAST_CONTRAST: f64 = 3.0;
/// Least distance between two series in CIELAB (1976), for any kind of eye.
/// About 2.3 is the smallest a person sees side by side.
const LEAST_DISTANCE: f64 = 25.0;
/// Least distance between two series in lightness alone: a grey print.
const LEAST_GREY_STEP: f64 = 11.0;

const CSS: &str = include_str!("../../../static/chart.css");

type Rgb = [f64; 3];

/// Each light: the words its block follows in the file, and the grounds lines
/// stand on (sheet, then page).
const LIGHTS: [(&str, &[&str]); 4] = [
    (":root {", &["#ffffff", "#fbfbf8"]),
    (":root:not([data-light=\"bright\"]) {", &["#121c31", "#0d1424"]),
    (":root[data-light=\"dim\"] {", &["#121c31", "#0d1424"]),
    (":root, :root[data-light] {", &["#ffffff"]),
];

const EYES: [(&str, [Rgb; 3]); 4] = [
    ("full colour", [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]),
    ("protanopia", [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]]),
    (
        "deuteranopia",
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    ),
    ("tritanopia", [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]]),
];

/// The colours of one light whose names begin with `name`, in file order.
fn colours(block: &str, name: &str) -> Vec<Rgb> {
    let body = CSS.split_once(block).expect("the block is in chart.css").1;
    let body = body.split_once('}').expect("the block ends").0;
    let values = body.lines().filter_map(|line| line.trim().strip_prefix("--")?.strip_suffix(';')?.split_once(": "));
    values.filter(|(found, _)| found.starts_with(name)).map(|(_, value)| linear(value)).collect()
}

fn linear(hex: &str) -> Rgb {
    [1, 3, 5].map(|i| {
        let part = f64::from(u8::from_str_radix(&hex[i..i + 2], 16).expect("a colour as #rrggbb")) / 255.0;
        if part <= 0.04045 { part / 12.92 } else { ((part + 0.055) / 1.055).powf(2.4) }
    })
}

fn times(matrix: &[Rgb; 3], colour: Rgb) -> Rgb {
    matrix.map(|row| row.iter().zip(colour).map(|(m, c)| m * c).sum::<f64>().clamp(0.0, 1.1))
}

fn luminance(colour: Rgb) -> f64 {
    0.2126 * colour[0] + 0.7152 * colour[1] + 0.0722 * colour[2]
}

fn contrast(a: Rgb, b: Rgb) -> f64 {
    let (a, b) = (luminance(a) + 0.05, luminance(b) + 0.05);
    a.max(b) / a.min(b)
}

fn lab(colour: Rgb) -> Rgb {
    const XYZ: [Rgb; 3] =
        [[0.4124564, 0.3575761, 0.1804375], [0.2126729, 0.7151522, 0.0721750], [0.0193339, 0.1191920, 0.9503041]];
    let [x, y, z] = times(&XYZ, colour);
    let root = |v: f64| if v > 0.008856 { v.cbrt() } else { 7.787 * v + 16.0 / 116.0 };
    let (x, y, z) = (root(x / 0.95047), root(y), root(z / 1.08883));
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

fn distance(a: Rgb, b: Rgb) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b).powi(2)).sum::<f64>().sqrt()
}

/// The two colours nearest to each other, by some measure.
fn nearest(colours: &[Rgb], apart: impl Fn(Rgb, Rgb) -> f64) -> f64 {
    let pairs = colours.iter().enumerate().flat_map(|(i, a)| colours[i + 1..].iter().map(move |b| (*a, *b)));
    pairs.map(|(a, b)| apart(a, b)).fold(f64::INFINITY, f64::min)
}

#[test]
fn the_measures_agree_with_known_values() {
    // WCAG: black on white is 21:1, and #767676 is the lightest grey at 4.5:1.
    assert!((contrast(linear("#000000"), linear("#ffffff")) - 21.0).abs() < 1e-9);
    assert!((contrast(linear("#767676"), linear("#ffffff")) - 4.54).abs() < 0.005);
    // sRGB red in CIELAB by colorspacious 1.1.2: 53.231, 80.114, 67.220.
    assert!(distance(lab(linear("#ff0000")), [53.231, 80.114, 67.220]) < 0.1);
    // A simulation leaves white white.
    for (eye, matrix) in EYES {
        assert!(distance(times(&matrix, [1.0; 3]), [1.0; 3]) < 1e-3, "{eye}");
    }
}

#[test]
fn every_line_stands_out_from_its_ground() {
    for (light, grounds) in LIGHTS {
        for name in ["series-", "water-"] {
            let found = colours(light, name);
            assert_eq!(found.len(), 4, "{light} {name}");
            for (i, colour) in found.iter().enumerate() {
                // The strip of stages only ever stands on a sheet.
                for ground in grounds.iter().take(if name == "water-" { 1 } else { 2 }) {
                    let found = contrast(*colour, linear(ground));
                    assert!(found >= LEAST_CONTRAST, "{light} {name}{}: {found:.2}:1 on {ground}", i + 1);
                }
            }
        }
    }
}

#[test]
fn four_series_stay_apart_for_every_eye_and_in_grey() {
    for (light, _) in LIGHTS {
        let series = colours(light, "series-");
        let grey = nearest(&series, |a, b| (lab(a)[0] - lab(b)[0]).abs());
        assert!(grey >= LEAST_GREY_STEP, "{light} grey: {grey:.1}");
        if light.contains(", ") {
            continue; // Print is grey already: dashes, markers and lightness tell its series apart.
        }
        for (eye, matrix) in EYES {
            let found = nearest(&series, |a, b| distance(lab(times(&matrix, a)), lab(times(&matrix, b))));
            assert!(found >= LEAST_DISTANCE, "{light} {eye}: {found:.1}");
        }
    }
}

#[test]
fn the_stages_blues_step_evenly_one_way() {
    for (light, _) in LIGHTS {
        let steps: Vec<f64> = colours(light, "water-").iter().map(|c| lab(*c)[0]).collect();
        let one_way = steps.is_sorted_by(|a, b| a + 6.0 < *b) || steps.is_sorted_by(|a, b| *a > b + 6.0);
        assert!(one_way, "{light}: {steps:?}");
    }
}
