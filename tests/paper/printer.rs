//! A browser that prints what a server of our own answers.

use std::{path::PathBuf, process::Command};

use axum::{
    Router,
    body::{Body, to_bytes},
    extract::Request,
    http::header,
    middleware::{Next, from_fn},
    response::Response,
    routing::get,
};
use gylebook::{
    store::Store,
    web::{App, Frame, Options, router, sheet},
};
use tempfile::TempDir;
use tokio::net::TcpListener;

/// A size of paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Paper {
    A4,
    Letter,
}

impl Paper {
    /// Width and height in points of 1/72 inch [ISO 216, ANSI/ASME Y14.1].
    fn points(self) -> (f64, f64) {
        match self {
            Self::A4 => (595.28, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }
}

/// A book, its server on a port of this machine, and a place for what is printed.
pub(crate) struct Printer {
    pub(crate) store: Store,
    address: std::net::SocketAddr,
    folder: TempDir,
}

/// What came out.
pub(crate) struct Sheet {
    paper: Paper,
    path: String,
    file: PathBuf,
    pages: Vec<String>,
}

/// A word and where it stands on its page, in points from the top left.
struct Word {
    page: usize,
    text: String,
    left: f64,
    top: f64,
    right: f64,
    bottom: f64,
}

impl Printer {
    pub(crate) async fn open() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(folder.path().join("book.db")).await.expect("a fresh book");
        let listener = TcpListener::bind("127.0.0.1:0").await.expect("a port");
        let address = listener.local_addr().expect("an address");
        let book = router(App::new(store.clone(), Options::default()));
        let served = Router::new()
            .route("/paper/A4.css", get(|| size("A4")))
            .route("/paper/Letter.css", get(|| size("letter")))
            .fallback_service(book)
            .layer(from_fn(with_paper));
        let service = served.into_make_service_with_connect_info::<std::net::SocketAddr>();
        tokio::spawn(async move { axum::serve(listener, service).await });
        Self { store, address, folder }
    }

    /// Prints a page.
    pub(crate) async fn print(&self, path: &str, paper: Paper) -> Sheet {
        let name = format!("{}-{paper:?}.pdf", path.trim_matches('/').replace('/', "-"));
        let file = self.folder.path().join(&name);
        let url = format!("http://{}{path}?paper={paper:?}", self.address);
        self.print_from(&url, path, file, paper).await
    }

    /// Prints a batch's report from a folder, without a server.
    pub(crate) async fn print_report(&self, batch: i64, paper: Paper) -> Sheet {
        let day = self.store.day(batch).await.expect("read").expect("a batch");
        let summary = self.store.summary(batch).await.expect("read").expect("a summary");
        let frame = Frame::of(self.store.settings().await.expect("settings"));
        let report = sheet::report(&day, summary, &frame).expect("a report");
        let size = if paper == Paper::A4 { "A4" } else { "letter" };
        let report = report.replace("</style>", &format!("@page {{ size: {size} }}</style>"));
        let page = self.folder.path().join(format!("report-{paper:?}.html"));
        std::fs::write(&page, report).expect("written");
        let file = page.with_extension("pdf");
        self.print_from(&format!("file://{}", page.display()), "report", file, paper).await
    }

    async fn print_from(&self, url: &str, path: &str, file: PathBuf, paper: Paper) -> Sheet {
        let mut browser = Command::new("chromium");
        browser
            .args(["--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer", "--no-first-run"])
            .arg(format!("--user-data-dir={}", self.folder.path().join("profile").display()))
            .arg(format!("--print-to-pdf={}", file.display()))
            .arg(url);
        let done = tokio::task::spawn_blocking(move || browser.output()).await.expect("it ran");
        let done = done.expect("chromium is installed: the sheets are printed with it");
        assert!(file.exists(), "nothing was printed: {}", String::from_utf8_lossy(&done.stderr));
        let text = tool("pdftotext", &["-layout", &file.display().to_string(), "-"]);
        // A page ends with a form feed.
        let pages = text.trim_end_matches('\u{c}').split('\u{c}').map(one_space).collect();
        Sheet { paper, path: path.to_owned(), file, pages }
    }
}

impl Sheet {
    /// Which sheet this is, for a failure's sentence.
    pub(crate) fn what(&self) -> String {
        format!("{} on {:?}", self.path, self.paper)
    }

    /// Each page's words, one space between them.
    pub(crate) fn pages(&self) -> &[String] {
        &self.pages
    }

    pub(crate) fn is_on_its_paper(&self) {
        let told = tool("pdfinfo", &[&self.file.display().to_string()]);
        let size = told.lines().find_map(|line| line.strip_prefix("Page size:")).expect("a size");
        let numbers: Vec<f64> = size.split_whitespace().filter_map(|word| word.parse().ok()).collect();
        let (width, height) = self.paper.points();
        // A browser counts in 1/96 inch, and rounds.
        assert!((numbers[0] - width).abs() < 1.0 && (numbers[1] - height).abs() < 1.0, "{size} for {:?}", self.paper);
    }

    pub(crate) fn is_inside_the_margins(&self) {
        /// Five millimetres: what a common printer leaves white at the edge.
        const EDGE: f64 = 14.0;
        let (width, height) = self.paper.points();
        for word in self.words() {
            let inside =
                word.left >= EDGE && word.right <= width - EDGE && word.top >= EDGE && word.bottom <= height - EDGE;
            assert!(inside, "“{}” runs off page {}, {}", word.text, word.page, self.what());
        }
    }

    pub(crate) fn has_no_words_over_one_another(&self) {
        let words: Vec<Word> = self.words().into_iter().map(Word::ink).collect();
        for (index, one) in words.iter().enumerate() {
            for other in words[index + 1..].iter().filter(|other| other.page == one.page) {
                // A letter with a halo is drawn twice, at one and the same place.
                if one.text == other.text && (one.left - other.left).abs() + (one.right - other.right).abs() < 0.01 {
                    continue;
                }
                let wide = one.right.min(other.right) - one.left.max(other.left);
                let high = one.bottom.min(other.bottom) - one.top.max(other.top);
                let least = one.area().min(other.area());
                let covered = wide.max(0.0) * high.max(0.0) / least;
                assert!(covered < 0.1, "“{}” over “{}” on page {}, {}", one.text, other.text, one.page, self.what());
            }
        }
    }

    /// Nothing needs a colour: every dot is as red as it is green and blue.
    pub(crate) fn is_grey(&self) {
        let stem = self.file.with_extension("");
        tool("pdftoppm", &["-r", "50", &self.file.display().to_string(), &stem.display().to_string()]);
        let mut seen = 0;
        for entry in std::fs::read_dir(stem.parent().expect("a folder")).expect("readable") {
            let path = entry.expect("an entry").path();
            let ours = path.file_name().zip(stem.file_name()).is_some_and(|(name, stem)| {
                name.to_string_lossy().strip_prefix(&*stem.to_string_lossy()).is_some_and(|rest| rest.ends_with(".ppm"))
            });
            if !ours {
                continue;
            }
            let image = std::fs::read(&path).expect("an image");
            // P6, width and height, 255, then three bytes a dot.
            let start = image.iter().enumerate().filter(|(_, byte)| **byte == b'\n').nth(2).expect("a head").0 + 1;
            let coloured = image[start..].chunks_exact(3).any(|dot| dot.iter().max() != dot.iter().min());
            assert!(!coloured, "there is colour on {}", self.what());
            std::fs::remove_file(path).expect("removed");
            seen += 1;
        }
        assert_eq!(seen, self.pages.len());
    }

    fn words(&self) -> Vec<Word> {
        let told = tool("pdftotext", &["-bbox", &self.file.display().to_string(), "-"]);
        let mut page = 0;
        let mut words = Vec::new();
        for line in told.lines().map(str::trim) {
            if line.starts_with("<page") {
                page += 1;
            } else if let Some(rest) = line.strip_prefix("<word") {
                let at = |name: &str| {
                    let value = rest.split_once(&format!("{name}=\"")).expect("a side").1;
                    value.split_once('"').expect("its end").0.parse::<f64>().expect("a number")
                };
                let text = rest.split_once('>').expect("a word").1.trim_end_matches("</word>").to_owned();
                words.push(Word {
                    page,
                    text,
                    left: at("xMin"),
                    top: at("yMin"),
                    right: at("xMax"),
                    bottom: at("yMax"),
                });
            }
        }
        assert!(!words.is_empty(), "a sheet has words");
        words
    }
}

impl Word {
    /// The part with ink in it: a box is as high as the font's line, and lines set
    /// close have boxes that overlap where no letter does.
    fn ink(self) -> Self {
        let high = self.bottom - self.top;
        Self { top: self.top + 0.25 * high, bottom: self.bottom - 0.25 * high, ..self }
    }

    fn area(&self) -> f64 {
        ((self.right - self.left) * (self.bottom - self.top)).max(1e-6)
    }
}

/// A style sheet that asks for a size of paper, as a print dialog would.
async fn size(name: &'static str) -> ([(header::HeaderName, &'static str); 1], String) {
    ([(header::CONTENT_TYPE, "text/css")], format!("@page {{ size: {name}; }}"))
}

/// Links the paper's style sheet into the page that is asked for.
async fn with_paper(mut request: Request, next: Next) -> Response {
    let query = request.uri().query().unwrap_or_default().to_owned();
    let Some(paper) = query.strip_prefix("paper=") else { return next.run(request).await };
    request.headers_mut().remove(header::ACCEPT_ENCODING);
    let (mut head, body) = next.run(request).await.into_parts();
    let text = String::from_utf8(to_bytes(body, usize::MAX).await.expect("a body").to_vec()).expect("text");
    let text = text.replacen("</head>", &format!("<link rel=\"stylesheet\" href=\"/paper/{paper}.css\"></head>"), 1);
    head.headers.remove(header::CONTENT_LENGTH);
    Response::from_parts(head, Body::from(text))
}

fn one_space(page: &str) -> String {
    page.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn tool(name: &str, arguments: &[&str]) -> String {
    let done = Command::new(name).args(arguments).output().unwrap_or_else(|why| panic!("{name} is installed: {why}"));
    assert!(done.status.success(), "{name}: {}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8(done.stdout).expect("text")
}
