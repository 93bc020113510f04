//! A link as a square picture that phones read [ISO-18004].

use qrcode::{Color, EcLevel, QrCode, render::unicode::Dense1x2};

/// The empty edge a reader needs, in modules.
const QUIET: usize = 4;

/// A square of modules, dark on light.
pub struct Qr(QrCode);

impl std::fmt::Debug for Qr {
    /// Without what it says, which may be a secret.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Qr").field("side", &self.side()).finish()
    }
}

impl Qr {
    /// The picture of a link.
    ///
    /// # Errors
    /// The link is too long for any such picture (some 2,900 characters).
    pub fn of(link: &str) -> anyhow::Result<Self> {
        Ok(Self(QrCode::with_error_correction_level(link, EcLevel::M)?))
    }

    /// For a terminal: half blocks that are lit where the module is light, so that
    /// it reads right on a dark background, which most terminals have.
    #[must_use]
    pub fn for_terminal(&self) -> String {
        self.0.render::<Dense1x2>().dark_color(Dense1x2::Light).light_color(Dense1x2::Dark).build()
    }

    /// The side of the picture with its edge, in modules.
    #[must_use]
    pub fn side(&self) -> usize {
        self.0.width() + 2 * QUIET
    }

    /// The dark modules as one SVG path.
    #[must_use]
    pub fn path(&self) -> String {
        let width = self.0.width();
        let colors = self.0.to_colors();
        let dark = colors.iter().enumerate().filter(|(_, color)| **color == Color::Dark);
        dark.map(|(at, _)| format!("M{} {}h1v1h-1z", at % width + QUIET, at / width + QUIET)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LINK: &str = "http://192.168.1.20:4710/pair/0123456789abcdef0123456789abcdef";

    /// What another program reads in a picture of these modules.
    fn read(side: usize, is_dark: impl Fn(usize, usize) -> bool) -> String {
        const SCALE: usize = 4;
        let grey = |x: usize, y: usize| if is_dark(x / SCALE, y / SCALE) { 0 } else { 255 };
        let mut image = rqrr::PreparedImage::prepare_from_greyscale(side * SCALE, side * SCALE, grey);
        let grids = image.detect_grids();
        assert_eq!(grids.len(), 1);
        grids[0].decode().expect("a picture that can be read").1
    }

    #[test]
    fn the_terminals_picture_reads_right_on_a_dark_background() {
        let text = Qr::of(LINK).unwrap().for_terminal();
        let lines: Vec<Vec<char>> = text.lines().map(|line| line.chars().collect()).collect();
        let side = lines[0].len();
        assert!(lines.iter().all(|line| line.len() == side) && lines.len() == side.div_ceil(2));
        // A lit half is light; what is left blank is the terminal's own dark.
        let is_dark = |x: usize, y: usize| {
            let lit = match lines[y / 2][x] {
                '█' => [true, true],
                '▀' => [true, false],
                '▄' => [false, true],
                _ => [false, false],
            };
            !lit[y % 2]
        };
        assert_eq!(read(side, is_dark), LINK);
    }

    #[test]
    fn the_pages_picture_says_the_link() {
        let qr = Qr::of(LINK).unwrap();
        let dark: std::collections::HashSet<(usize, usize)> = qr
            .path()
            .split('M')
            .filter_map(|module| module.split_once('h')?.0.split_once(' '))
            .map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap()))
            .collect();
        assert_eq!(read(qr.side(), |x, y| dark.contains(&(x, y))), LINK);
        assert!(!format!("{qr:?}").contains("pair"));
    }
}
