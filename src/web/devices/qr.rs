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
