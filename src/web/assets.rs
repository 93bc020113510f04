//! Style sheets, scripts and the font, embedded in the binary.
//!
//! One version stands for the whole folder and is part of every path, so a
//! module may `import "./outbox.js"` beside it and never meet an older one.
//!
//! What only a reader of the source needs is not sent: comments and indentation
//! are a quarter of it. The sheets of every page are sent as one, [`BOOK`].

use std::sync::LazyLock;

use axum::{
    Router,
    body::Body,
    extract::Path,
    http::{HeaderMap, StatusCode, header},
    response::{IntoResponse, Response},
    routing::get,
};
use rust_embed::RustEmbed;
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

/// Sent in place of [`SHEETS`].
const BOOK: &str = "book.css";
/// The style sheets of every page, in the order they count, and the medium each is for.
const SHEETS: [(&str, &str); 10] = [
    ("tokens.css", "all"),
    ("base.css", "all"),
    ("parts.css", "all"),
    ("forms.css", "all"),
    ("tables.css", "all"),
    ("stages.css", "all"),
    ("panels.css", "all"),
    ("ledger.css", "all"),
    ("chart.css", "all"),
    ("print.css", "print"),
];

pub(crate) fn router() -> Router<App> {
    Router::new().route("/static/{version}/{*path}", get(show))
}

/// The address of a file of the folder.
#[must_use]
pub fn address(path: &str) -> String {
    format!("/static/{}/{path}", *VERSION)
}

/// The text of a file of the folder, as it is sent.
#[must_use]
pub fn text(path: &str) -> Option<String> {
    String::from_utf8(Static::get(path)?.data.into_owned()).ok().map(|text| thin(&text))
}

/// Leaves out comments, indentation and empty lines. In this folder a comment has
/// its lines to itself, and no text runs over a line's end.
fn thin(text: &str) -> String {
    let mut thin = String::with_capacity(text.len());
    let mut is_comment = false;
    for line in text.lines().map(str::trim) {
        is_comment |= line.starts_with("/*");
        if !is_comment && !line.is_empty() && !line.starts_with("//") {
            thin.push_str(line);
            thin.push('\n');
        }
        is_comment &= !line.ends_with("*/");
    }
    thin
}

/// The style sheets of every page as one.
fn book() -> Option<String> {
    let sheet = |(name, medium): (&str, &str)| {
        let text = text(name)?;
        Some(if medium == "all" { text } else { format!("@media {medium} {{\n{text}}}\n") })
    };
    SHEETS.into_iter().map(sheet).collect()
}

/// What is sent for a path, and its type.
fn sent(path: &str) -> Option<(Vec<u8>, &'static str)> {
    if path == BOOK {
        return Some((book()?.into_bytes(), content_type(path)));
    }
    let file = Static::get(path)?;
    let kind = content_type(path);
    let is_thinned = path.ends_with(".css") || path.ends_with(".js");
    Some((if is_thinned { text(path)?.into_bytes() } else { file.data.into_owned() }, kind))
}

async fn show(Path((version, path)): Path<(String, String)>, headers: HeaderMap) -> Result<Response, AppError> {
    let (bytes, kind) = sent(&path).ok_or(AppError::NotFound)?;
    // A debug build reads the folder as it is now, so nothing of it may be kept.
    let current = version == *VERSION && !cfg!(debug_assertions);
    let keep = if current { "public, max-age=31536000, immutable" } else { "no-cache" };
    // Weak, as the same file also travels compressed.
    let tag = format!("W/\"{}\"", hex(&Sha256::digest(&bytes)[..12]));
    let cached = headers.get(header::IF_NONE_MATCH).is_some_and(|known| known.as_bytes() == tag.as_bytes());
    let head = [(header::CACHE_CONTROL, keep.to_owned()), (header::ETAG, tag)];
    if cached {
        return Ok((StatusCode::NOT_MODIFIED, head).into_response());
    }
    Ok((head, [(header::CONTENT_TYPE, kind)], Body::from(bytes)).into_response())
}

/// What a file is by the end of its name [IANA media types], with its character set where it is text.
fn content_type(path: &str) -> &'static str {
    match path.rsplit_once('.').map(|(_, ending)| ending) {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("txt") => "text/plain; charset=utf-8",
        Some("woff2") => "font/woff2",
        _ => "application/octet-stream",
    }
}

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A browser runs no script and takes no sheet of another kind: `nosniff`.
    #[test]
    fn every_file_is_of_a_kind_that_is_known() {
        for name in Static::iter() {
            assert_ne!(content_type(&name), "application/octet-stream", "{name}");
        }
    }

    #[test]
    fn only_comments_and_spaces_are_left_out() {
        let text = "/* A\n   b */\n.a {\n  color: red;\n}\n\n// c\n/** d */\nf(`g // h`); // i\n";
        assert_eq!(thin(text), ".a {\ncolor: red;\n}\nf(`g // h`); // i\n");
    }

    /// What [`thin`] takes for granted.
    #[test]
    fn a_comment_has_its_lines_to_itself_and_no_text_runs_over_a_line() {
        for name in Static::iter().filter(|name| name.ends_with(".css") || name.ends_with(".js")) {
            let source = String::from_utf8(Static::get(&name).expect("a file").data.into_owned()).expect("text");
            for line in source.lines().map(str::trim) {
                assert!(!line.contains("*/") || line.ends_with("*/"), "{name}: words behind a comment: {line}");
                assert!(!line.contains("/*") || line.starts_with("/*"), "{name}: a comment behind words: {line}");
                assert!(line.matches('`').count() % 2 == 0 || line.starts_with("//"), "{name}: a text is open: {line}");
            }
        }
    }

    #[test]
    fn the_book_has_every_sheet_of_every_page() {
        let book = book().expect("all of them");
        for (name, _) in SHEETS {
            assert!(book.contains(&text(name).expect(name)), "{name}");
        }
        assert!(book.trim_end().ends_with("}\n}"), "what is for paper alone is in its own block");
    }
}
