//! Style sheets, scripts and the font, embedded in the binary.
//!
//! One version stands for the whole folder and is part of every path, so a
//! module may `import "./outbox.js"` beside it and never meet an older one.

use std::sync::LazyLock;

use axum::{
    Router,
    body::Body,
    extract::Path,
    http::{HeaderMap, StatusCode, header},
    response::{IntoResponse, Response},
    routing::get,
};
use rust_embed::{EmbeddedFile, RustEmbed};
use sha2::{Digest, Sha256};

use super::{App, AppError};

#[derive(RustEmbed)]
#[folder = "static/"]
struct Static;

/// Twelve hexadecimal digits that change when any file of the folder does.
static VERSION: LazyLock<String> = LazyLock::new(|| {
    let mut names: Vec<_> = Static::iter().collect();
    names.sort();
    let mut hash = Sha256::new();
    for name in names {
        hash.update(name.as_bytes());
        hash.update(Static::get(&name).map(|file| file.metadata.sha256_hash()).unwrap_or_default());
    }
    hex(&hash.finalize()[..6])
});

pub(crate) fn router() -> Router<App> {
    Router::new().route("/static/{version}/{*path}", get(show))
}

/// The address of a file of the folder.
#[must_use]
pub fn address(path: &str) -> String {
    format!("/static/{}/{path}", *VERSION)
}

/// The text of a file of the folder.
#[must_use]
pub fn text(path: &str) -> Option<String> {
    String::from_utf8(Static::get(path)?.data.into_owned()).ok()
}

async fn show(Path((version, path)): Path<(String, String)>, headers: HeaderMap) -> Result<Response, AppError> {
    let file = Static::get(&path).ok_or(AppError::NotFound)?;
    // A debug build reads the folder as it is now, so nothing of it may be kept.
    let current = version == *VERSION && !cfg!(debug_assertions);
    let keep = if current { "public, max-age=31536000, immutable" } else { "no-cache" };
    // Weak, as the same file also travels compressed.
    let tag = format!("W/\"{}\"", hex(&file.metadata.sha256_hash()[..12]));
    let cached = headers.get(header::IF_NONE_MATCH).is_some_and(|known| known.as_bytes() == tag.as_bytes());
    let head = [(header::CACHE_CONTROL, keep.to_owned()), (header::ETAG, tag)];
    if cached {
        return Ok((StatusCode::NOT_MODIFIED, head).into_response());
    }
    Ok((head, [(header::CONTENT_TYPE, content_type(&file))], Body::from(file.data.into_owned())).into_response())
}

/// The type with its character set, which a text needs.
fn content_type(file: &EmbeddedFile) -> String {
    let kind = file.metadata.mimetype();
    if kind.starts_with("text/") { format!("{kind}; charset=utf-8") } else { kind.to_owned() }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
