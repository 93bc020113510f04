//! Bringing a file, or pasting its text.

use askama::Template;
use axum::extract::multipart::MultipartError;
use axum::extract::{Multipart, Path, State};
use axum::response::{IntoResponse, Response};

use super::{address, back_to};
use crate::brewday::Fault;
use crate::brewday::logfile::LogTable;
use crate::store::LogFile;
use crate::web::form::Form;
use crate::web::guard::Sent;
use crate::web::strip::BatchHead;
use crate::web::{Again, App, AppError, Frame, Page};

#[derive(Template)]
#[template(path = "log_files/bring.html")]
struct BringPage {
    frame: Frame,
    head: BatchHead,
    form: Form,
    files: Vec<FileTold>,
}

/// A file that was brought before.
struct FileTold {
    href: String,
    name: String,
    brought: String,
    state: String,
}

/// What came with the form.
#[derive(Default)]
struct Brought {
    name: String,
    bytes: Vec<u8>,
    pasted: String,
}

pub(super) async fn show(State(app): State<App>, Path(id): Path<i64>, frame: Frame) -> Result<Response, AppError> {
    let form = Form::empty(&frame);
    Ok(Page(page(&app, id, frame, form).await?).into_response())
}

pub(super) async fn create(
    State(app): State<App>,
    Path(id): Path<i64>,
    frame: Frame,
    Sent(mark): Sent,
    parts: Multipart,
) -> Result<Response, AppError> {
    let brought = Brought::read(parts).await.map_err(|why| AppError::Status(why.status()))?;
    let (name, bytes, field) = match brought {
        Brought { name, bytes, .. } if !bytes.is_empty() => (name, bytes, "file"),
        Brought { pasted, .. } => ("pasted".to_owned(), pasted.into_bytes(), "pasted"),
    };
    let read = if bytes.iter().all(u8::is_ascii_whitespace) {
        Err("Choose the file, or paste what is in it.".to_owned())
    } else {
        LogTable::read(&bytes).map(drop)
    };
    if let Err(why) = read {
        let field = if field == "pasted" && bytes.is_empty() { "file" } else { field };
        let pasted = if field == "pasted" { String::from_utf8_lossy(&bytes).into_owned() } else { String::new() };
        let form = Form::empty(&frame).with("pasted", pasted).with_faults(vec![Fault::new(field, why)]);
        return Ok(Again(page(&app, id, frame, form).await?).into_response());
    }
    let file = app.store.once(mark).bring_log_file(id, &name, &bytes, frame.clock.now).await?;
    Ok(back_to(id, file.ok_or(AppError::NotFound)?))
}

impl Brought {
    async fn read(mut parts: Multipart) -> Result<Self, MultipartError> {
        let mut brought = Self::default();
        while let Some(part) = parts.next_field().await? {
            match part.name() {
                Some("file") => {
                    brought.name = part
                        .file_name()
                        .map(plain_name)
                        .filter(|name| !name.is_empty())
                        .unwrap_or_else(|| "a file".into());
                    brought.bytes = part.bytes().await?.to_vec();
                }
                Some("pasted") => brought.pasted = part.text().await?,
                _ => {}
            }
        }
        Ok(brought)
    }
}

/// A file's name without the folders some browsers send along.
fn plain_name(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    last.chars().filter(|letter| !letter.is_control()).collect::<String>().trim().to_owned()
}

async fn page(app: &App, id: i64, frame: Frame, form: Form) -> Result<BringPage, AppError> {
    let day = app.store.day(id).await?.ok_or(AppError::NotFound)?;
    let files = app.store.log_files(id).await?;
    Ok(BringPage {
        head: BatchHead::of(&day, None),
        files: files.iter().map(|file| told(app, file, &frame)).collect(),
        form,
        frame,
    })
}

fn told(app: &App, file: &LogFile, frame: &Frame) -> FileTold {
    let state = match file {
        _ if app.store.is_under_way(file.id) => "under way".to_owned(),
        LogFile { undone_at: Some(_), .. } => "taken out again".to_owned(),
        LogFile { finished_at: Some(_), total, .. } => format!("{} in the log", super::taken::readings(*total)),
        LogFile { mapping: Some(_), done, total, .. } => format!("stopped at {done} of {total}"),
        _ => "not brought in yet".to_owned(),
    };
    FileTold {
        href: address(file.batch, file.id),
        name: file.name.clone(),
        brought: frame.clock.short(file.brought_at).text,
        state,
    }
}

#[cfg(test)]
mod tests {
    use super::plain_name;

    #[test]
    fn a_name_is_told_without_its_folders() {
        assert_eq!(plain_name("C:\\logs\\probe 2.csv"), "probe 2.csv");
        assert_eq!(plain_name("/home/x/probe\u{7}.csv"), "probe.csv");
        assert_eq!(plain_name(""), "");
    }
}
