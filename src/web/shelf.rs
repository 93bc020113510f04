//! Pages that say the same until the book is written again are made once.
//!
//! A handler that answers with [`lasting`] promises that its page depends on the
//! address, the book and the light, and on nothing else: no form with an id of its
//! own, nothing told as so long ago. (What makes one form differ from the next, and
//! one caller's from another's, is put in further out, by
//! [`form_token`](super::guard::form_token).) The page is laid on the shelf as it
//! goes out, and taken from there while the book stands as it stood before the
//! page was read ([`Store::as_of`](crate::store::Store::as_of)): a page older than
//! what was just saved can't come from it.
//!
//! One thing on every page does change: `data-now`, the moment it was made. It is
//! written anew over the old one, which is as long.

use std::{
    collections::HashMap,
    sync::{Arc, Mutex, MutexGuard, PoisonError},
};

use axum::{
    body::{Body, Bytes, to_bytes},
    extract::{Request, State},
    http::{HeaderValue, Method, StatusCode, header},
    middleware::Next,
    response::{IntoResponse, Response},
};

use super::{App, AppError, page::Light, when::utc_ms};
use crate::store::AsOf;

/// All that is on the shelf. A page of the ledger has some 50 kB.
const MOST_BYTES: usize = 6 * 1024 * 1024;
/// A page that would take the place of many others is not kept.
const PAGE_MOST_BYTES: usize = 1024 * 1024;
/// What stands before the moment a page was made.
const MADE_AT: &[u8] = b"data-now=\"";
/// The moment stands in the page's first tag.
const HEAD_BYTES: usize = 512;

/// The pages of one standing of the book.
#[derive(Clone, Debug, Default)]
pub(crate) struct Shelf(Arc<Mutex<Kept>>);

#[derive(Debug, Default)]
struct Kept {
    as_of: Option<AsOf>,
    pages: HashMap<Asked, Made>,
    bytes: usize,
}

/// All that a lasting page depends on beside the book.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
struct Asked {
    address: String,
    light: &'static str,
}

/// A page as it went out.
#[derive(Clone, Debug)]
struct Made {
    kind: HeaderValue,
    bytes: Bytes,
    /// Where the moment it was made stands in it, where it tells one.
    made_at: Option<usize>,
}

/// Marks an answer.
#[derive(Clone, Copy, Debug)]
struct Lasting;

/// An answer that stays true until the book is written again.
pub(crate) fn lasting(answer: impl IntoResponse) -> Response {
    let mut response = answer.into_response();
    response.extensions_mut().insert(Lasting);
    response
}

/// Takes a page from the shelf, or lays the one that is made on it.
pub(crate) async fn check(State(app): State<App>, request: Request, next: Next) -> Response {
    if request.method() != Method::GET {
        return next.run(request).await;
    }
    let as_of = app.store.as_of();
    let (parts, body) = request.into_parts();
    let asked = Asked {
        address: parts.uri.path_and_query().map(ToString::to_string).unwrap_or_default(),
        light: Light::of(&parts).key(),
    };
    if let Some(made) = app.shelf.kept().at(as_of, &asked) {
        return made.answer(&utc_ms(app.now()));
    }
    let mut response = next.run(Request::from_parts(parts, body)).await;
    if response.extensions_mut().remove::<Lasting>().is_none() || response.status() != StatusCode::OK {
        return response;
    }
    let (head, body) = response.into_parts();
    let bytes = match to_bytes(body, usize::MAX).await {
        Ok(bytes) => bytes,
        Err(error) => return AppError::internal(error).into_response(),
    };
    if let Some(kind) = head.headers.get(header::CONTENT_TYPE) {
        app.shelf.kept().keep(as_of, asked, Made::of(kind.clone(), bytes.clone()));
    }
    Response::from_parts(head, Body::from(bytes))
}

impl Shelf {
    fn kept(&self) -> MutexGuard<'_, Kept> {
        // A panic under this lock can only have lost a page, never bent one.
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Kept {
    fn at(&self, as_of: AsOf, asked: &Asked) -> Option<Made> {
        if self.as_of == Some(as_of) { self.pages.get(asked).cloned() } else { None }
    }

    fn keep(&mut self, as_of: AsOf, asked: Asked, made: Made) {
        if made.bytes.len() > PAGE_MOST_BYTES {
            return;
        }
        if self.as_of != Some(as_of) || self.bytes + made.bytes.len() > MOST_BYTES {
            *self = Self { as_of: Some(as_of), ..Self::default() };
        }
        self.bytes += made.bytes.len();
        self.pages.insert(asked, made);
    }
}

impl Made {
    fn of(kind: HeaderValue, bytes: Bytes) -> Self {
        let head = &bytes[..bytes.len().min(HEAD_BYTES)];
        let before = head.windows(MADE_AT.len()).position(|some| some == MADE_AT);
        Self { kind, made_at: before.map(|at| at + MADE_AT.len()), bytes }
    }

    /// The same page, made now.
    fn answer(self, now: &str) -> Response {
        let bytes = match self.made_at {
            Some(at) => {
                let mut page = self.bytes.to_vec();
                page[at..at + now.len()].copy_from_slice(now.as_bytes());
                Bytes::from(page)
            }
            None => self.bytes,
        };
        ([(header::CONTENT_TYPE, self.kind)], Body::from(bytes)).into_response()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::Store;

    fn made(text: &str) -> Made {
        Made::of(HeaderValue::from_static("text/html"), Bytes::copy_from_slice(text.as_bytes()))
    }

    async fn book() -> (tempfile::TempDir, Store) {
        let folder = tempfile::tempdir().unwrap();
        let store = Store::open(folder.path().join("book.db")).await.unwrap();
        (folder, store)
    }

    fn asked(address: &str) -> Asked {
        Asked { address: address.into(), light: "device" }
    }

    #[tokio::test]
    async fn a_page_taken_from_the_shelf_tells_the_moment_it_is_taken() {
        let page = made(r#"<html data-now="2026-03-07T14:42:00.125Z"><p>data-now="#);
        let body = to_bytes(page.answer("2026-03-07T14:43:30.000Z").into_body(), 1000).await.unwrap();
        assert_eq!(body, r#"<html data-now="2026-03-07T14:43:30.000Z"><p>data-now="#);
        let body = to_bytes(made(r#"{"id":1}"#).answer("2026").into_body(), 1000).await.unwrap();
        assert_eq!(body, r#"{"id":1}"#);
    }

    #[tokio::test]
    async fn what_was_read_before_a_write_is_not_there_after_it() {
        let (_folder, store) = book().await;
        let before = store.as_of();
        let mut kept = Kept::default();
        kept.keep(before, asked("/"), made("old"));
        assert!(kept.at(before, &asked("/")).is_some());
        assert!(kept.at(before, &asked("/?page=1")).is_none());
        store.save_settings(&Default::default()).await.unwrap();
        let after = store.as_of();
        assert!(kept.at(after, &asked("/")).is_none());
        // One that was still being made from what was read before is kept, and never found.
        kept.keep(before, asked("/late"), made("old"));
        assert!(kept.at(after, &asked("/late")).is_none());
    }

    #[tokio::test]
    async fn the_shelf_is_emptied_before_it_grows_too_large() {
        let (_folder, store) = book().await;
        let as_of = store.as_of();
        let mut kept = Kept::default();
        let page = "x".repeat(PAGE_MOST_BYTES);
        for number in 0..100 {
            kept.keep(as_of, asked(&number.to_string()), made(&page));
            assert!(kept.bytes <= MOST_BYTES);
            assert!(kept.at(as_of, &asked(&number.to_string())).is_some());
        }
        kept.keep(as_of, asked("large"), made(&(page + "x")));
        assert!(kept.at(as_of, &asked("large")).is_none());
    }
}
