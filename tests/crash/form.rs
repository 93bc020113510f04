//! A page's form as a browser without scripts sends it.

use scraper::{ElementRef, Html, Selector};

use crate::client::{Answer, Client};

/// A form, filled in.
#[derive(Clone, Debug)]
pub(crate) struct Form {
    pub(crate) action: String,
    pub(crate) fields: Vec<(String, String)>,
}

impl Form {
    /// The first form a selector finds, as it stands on the page.
    #[track_caller]
    pub(crate) fn on(page: &Answer, selector: &str) -> Self {
        let html = Html::parse_document(&page.text);
        let Some(form) = html.select(&parsed(selector)).next() else {
            panic!("no form {selector}: {} {}", page.status, page.text);
        };
        let fields = parsed("input[name], select[name], textarea[name]");
        Self {
            action: form.attr("action").expect("where it goes").to_owned(),
            fields: form
                .select(&fields)
                .filter_map(|field| Some((field.attr("name")?.to_owned(), text_in(field)?)))
                .collect(),
        }
    }

    /// The same form with a text typed into it.
    pub(crate) fn with(mut self, name: &str, text: &str) -> Self {
        self.fields.retain(|(known, _)| known != name);
        self.fields.push((name.to_owned(), text.to_owned()));
        self
    }

    pub(crate) fn send(&self, client: &mut Client) -> std::io::Result<Answer> {
        let fields: Vec<_> = self.fields.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
        client.form(&self.action, &fields)
    }
}

/// The text a field sends; nothing where it isn't ticked.
fn text_in(field: ElementRef<'_>) -> Option<String> {
    match field.value().name() {
        "textarea" => return Some(field.text().collect()),
        "select" => {
            let options: Vec<_> = field.select(&parsed("option")).collect();
            let chosen = options.iter().find(|option| option.attr("selected").is_some()).or(options.first())?;
            return Some(chosen.attr("value").map_or_else(|| chosen.text().collect(), str::to_owned));
        }
        _ => {}
    }
    let ticked = !matches!(field.attr("type"), Some("radio" | "checkbox")) || field.attr("checked").is_some();
    ticked.then(|| field.attr("value").unwrap_or_default().to_owned())
}

fn parsed(selector: &str) -> Selector {
    Selector::parse(selector).expect("a selector")
}
