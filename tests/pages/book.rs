//! A book of its own for each test, and the few things a browser does with it.

use axum::{
    Router,
    body::Body,
    http::{Request, StatusCode, header},
};
use gylebook::{
    brewday::Units,
    store::Store,
    web::{App, Options, guard::form_token::FIELD, router},
};
use http_body_util::BodyExt;
use scraper::{ElementRef, Html, Selector};
use serde_json::Value;
use tempfile::TempDir;
use tower::ServiceExt;

const HOST: &str = "127.0.0.1:4710";

/// A fresh book behind the real router; its folder goes away with it.
pub(crate) struct TestBook {
    pub(crate) store: Store,
    router: Router,
    /// What the forms of the book's own computer carry.
    token: String,
    _folder: TempDir,
}

/// A page, or where one is sent instead.
pub(crate) struct Answer {
    pub(crate) status: StatusCode,
    pub(crate) location: Option<String>,
    pub(crate) text: String,
    html: Html,
}

impl TestBook {
    pub(crate) async fn open() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(folder.path().join("book.db")).await.expect("a fresh book");
        let router = router(App::new(store.clone(), Options::default()));
        Self { token: store.form_token("owner"), store, router, _folder: folder }
    }

    /// The same book, shown and read in these units.
    pub(crate) async fn speak(&self, units: Units) {
        let mut settings = self.store.settings().await.expect("settings");
        settings.units = units;
        self.store.save_settings(&settings).await.expect("saved");
    }

    pub(crate) async fn get(&self, path: &str) -> Answer {
        self.ask(Request::get(path).header(header::HOST, HOST).body(Body::empty()).expect("a request")).await
    }

    pub(crate) async fn post_form<N: AsRef<str>, T: AsRef<str>>(&self, path: &str, fields: &[(N, T)]) -> Answer {
        let pair = |(name, text): &(N, T)| pair_of(name.as_ref(), text.as_ref());
        let mut pairs: Vec<_> = fields.iter().map(pair).collect();
        if !fields.iter().any(|(name, _)| name.as_ref() == FIELD) {
            pairs.push(pair_of(FIELD, &self.token));
        }
        let request = Request::post(path)
            .header(header::HOST, HOST)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(Body::from(pairs.join("&")));
        self.ask(request.expect("a request")).await
    }

    /// Sends a page's form as a browser does: what stands in it, with these
    /// texts typed over it, to where the form or the pressed button says.
    ///
    /// A pair may also name a button and its value: then that one is pressed.
    /// The time of a single tap comes from the phone's outbox, so `at` may be
    /// sent where the form has no field for it.
    pub(crate) async fn send(&self, page: &Answer, form: &str, typed: &[(&str, &str)]) -> Answer {
        let (action, fields) = page.filled(form, typed);
        self.post_form(&action, &fields).await
    }

    /// Sends a form with a file, as a browser does.
    pub(crate) async fn post_file(&self, path: &str, file: (&str, &[u8]), pasted: &str) -> Answer {
        let mut body = Vec::new();
        let mut part = |head: &str, bytes: &[u8]| {
            body.extend_from_slice(format!("--edge\r\nContent-Disposition: form-data; {head}\r\n\r\n").as_bytes());
            body.extend_from_slice(bytes);
            body.extend_from_slice(b"\r\n");
        };
        // A page's own form has it first, too.
        part(&format!("name=\"{FIELD}\""), self.token.as_bytes());
        part(&format!("name=\"file\"; filename=\"{}\"\r\nContent-Type: text/csv", file.0), file.1);
        part("name=\"pasted\"", pasted.as_bytes());
        body.extend_from_slice(b"--edge--\r\n");
        let request = Request::post(path)
            .header(header::HOST, HOST)
            .header(header::ORIGIN, format!("http://{HOST}"))
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=edge")
            .body(Body::from(body));
        self.ask(request.expect("a request")).await
    }

    /// What a GET gives to be kept, with its head.
    pub(crate) async fn download(&self, path: &str) -> (axum::http::HeaderMap, Vec<u8>) {
        let request = Request::get(path).header(header::HOST, HOST).body(Body::empty()).expect("a request");
        let response = self.router.clone().oneshot(request).await.expect("an answer");
        assert_eq!(response.status(), StatusCode::OK, "{path}");
        let head = response.headers().clone();
        (head, response.into_body().collect().await.expect("a body").to_bytes().to_vec())
    }

    /// A script's POST.
    pub(crate) async fn post_json(&self, path: &str, body: &Value) -> Answer {
        let request = Request::post(path)
            .header(header::HOST, HOST)
            .header(header::CONTENT_TYPE, "application/json")
            .body(Body::from(body.to_string()));
        self.ask(request.expect("a request")).await
    }

    async fn ask(&self, request: Request<Body>) -> Answer {
        let response = self.router.clone().oneshot(request).await.expect("an answer");
        let status = response.status();
        let location = response.headers().get(header::LOCATION).and_then(|at| at.to_str().ok()).map(str::to_owned);
        let bytes = response.into_body().collect().await.expect("a body").to_bytes();
        // The font is no text.
        let text = String::from_utf8_lossy(&bytes).into_owned();
        Answer { status, location, html: Html::parse_document(&text), text }
    }
}

impl Answer {
    /// A page that was read from elsewhere.
    pub(crate) fn of(text: &str) -> Self {
        Self { status: StatusCode::OK, location: None, html: Html::parse_document(text), text: text.to_owned() }
    }

    /// The texts of every element a selector finds, with their spaces drawn together.
    pub(crate) fn texts(&self, selector: &str) -> Vec<String> {
        let words = |element: ElementRef<'_>| element.text().collect::<String>();
        let drawn = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
        self.html.select(&parsed(selector)).map(|element| drawn(words(element))).collect()
    }

    /// Every stretch of text a reader meets, scripts and styles left out.
    pub(crate) fn lines(&self) -> Vec<String> {
        let unread = ["script", "style", "template"];
        let texts = self.html.tree.root().descendants().filter(|text| {
            !text.ancestors().any(|one| one.value().as_element().is_some_and(|one| unread.contains(&one.name())))
        });
        let texts = texts.filter_map(|node| node.value().as_text().map(|text| text.trim().to_owned()));
        texts.filter(|text| !text.is_empty()).collect()
    }

    /// Whether a selector finds anything.
    pub(crate) fn has(&self, selector: &str) -> bool {
        self.html.select(&parsed(selector)).next().is_some()
    }

    /// An attribute of every element a selector finds that has it.
    pub(crate) fn attributes(&self, selector: &str, name: &str) -> Vec<String> {
        self.html.select(&parsed(selector)).filter_map(|found| Some(found.attr(name)?.to_owned())).collect()
    }

    /// The answer as JSON.
    pub(crate) fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap_or_else(|why| panic!("JSON, not {}: {why}", self.text))
    }

    /// Where a form goes and what it sends, with these texts typed into it.
    fn filled(&self, form: &str, typed: &[(&str, &str)]) -> (String, Vec<(String, String)>) {
        assert!(self.has(form), "the page has a form {form}");
        let mut action = self.attributes(form, "action").into_iter().next().expect("a form that says where it goes");
        let mut fields = self.fields(form);
        for (name, text) in typed {
            let button = format!("{form} button[name='{name}'][value='{text}']");
            if self.has(&button) {
                let own = self.attributes(&button, "formaction").into_iter().next();
                action = own.map_or(action, |own| own.split('#').next().unwrap_or_default().to_owned());
            } else {
                let is_there = self.has(&format!("{form} [name='{name}']"));
                assert!(is_there || *name == "at", "the form {form} has a field {name}");
                fields.retain(|(known, _)| known != name);
            }
            fields.push(((*name).to_owned(), (*text).to_owned()));
        }
        (action, fields)
    }

    /// What is in a field.
    pub(crate) fn value(&self, name: &str) -> Option<String> {
        self.fields("main form").into_iter().find(|(known, _)| known == name).map(|(_, text)| text)
    }

    /// What a browser would send of the form, before anything in it is touched, but for
    /// its token, which is no part of what a brewer fills in.
    pub(crate) fn fields(&self, form: &str) -> Vec<(String, String)> {
        let form = self.html.select(&parsed(form)).next().expect("the form");
        let fields = parsed("input[name], select[name], textarea[name]");
        let filled = form.select(&fields).filter_map(|field| Some((field.attr("name")?.to_owned(), sent(field)?)));
        filled.filter(|(name, _)| name != FIELD).collect()
    }
}

/// The text a field sends; nothing where it isn't ticked.
fn sent(field: ElementRef<'_>) -> Option<String> {
    let name = field.value().name();
    if name == "textarea" {
        // Browsers end every line with two characters.
        return Some(field.text().collect::<String>().replace('\n', "\r\n"));
    }
    if name == "select" {
        let options: Vec<_> = field.select(&parsed("option")).collect();
        let chosen = options.iter().find(|option| option.attr("selected").is_some()).or(options.first())?;
        return Some(chosen.attr("value").map_or_else(|| chosen.text().collect(), str::to_owned));
    }
    let ticked = !matches!(field.attr("type"), Some("radio" | "checkbox")) || field.attr("checked").is_some();
    ticked.then(|| field.attr("value").unwrap_or_default().to_owned())
}

/// A page's form for a kind of entry, among those that carry these fields too.
pub(crate) fn entry_form(kind: &str, fixed: &[(&str, &str)]) -> String {
    let carries = |name: &str, value: &str| format!(":has([name='{name}'][value='{value}'])");
    let fixed: String = fixed.iter().map(|(name, value)| carries(name, value)).collect();
    format!("form{}{fixed}", carries("kind", kind))
}

fn parsed(selector: &str) -> Selector {
    Selector::parse(selector).expect("a selector")
}

fn pair_of(name: &str, text: &str) -> String {
    format!("{}={}", encoded(name), encoded(text))
}

fn encoded(text: &str) -> String {
    let byte = |byte: u8| match byte {
        b'a'..=b'z' | b'A'..=b'Z' | b'0'..=b'9' | b'.' | b'_' | b'-' => char::from(byte).to_string(),
        _ => format!("%{byte:02X}"),
    };
    text.bytes().map(byte).collect()
}
