//! Power cuts: what a disk may do to writes it was not yet asked to sync.
//!
//! One server is served through the shim, which writes down every operation on
//! the data file and its -wal; the test adds a mark each time it has read an
//! answer. From that trace a cut can be made anywhere: all that was synced
//! before it is kept, and of the rest each write is kept, lost, torn between
//! sectors or turned to noise, in any order. The book has to open from what is
//! left, with everything in it whose answer had been read.
//!
//! The same cuts on a disk that only says it has synced must lose something:
//! else this test could not fail.

use std::collections::HashMap;
use std::fs::{self, File};
use std::io::Write;
use std::path::Path;

use gylebook::store::Store;
use uuid::Uuid;

use crate::chance::{Chance, times};
use crate::house::{House, another_batch, begin_batch};
use crate::ledger::{a_reading, id, ids_in};
use crate::shim::{
    CONFIRMED, CREATE, DATA, Disk, FOLDER, Record, SYNC, TRUNCATE, UNLINK, WAL, WRITE, confirmed, records,
};

/// What a disk writes whole or not at all.
const SECTOR: usize = 512;

/// A day's writing, and what the disk was told meanwhile.
struct Recorded {
    trace: Vec<u8>,
    /// The ids of each post: they are there together or not at all.
    posts: Vec<Vec<Uuid>>,
}

/// Serves a book three times: killed, stopped, and begun again.
fn record(chance: &mut Chance) -> Recorded {
    let house = House::new();
    let trace = house.at("trace");
    let disk = Disk::of(&house).told_to(&trace);
    let mut marks = File::options().create(true).append(true).open(&trace).expect("a trace");
    let mut posts = Vec::new();
    for turn in 0..3 {
        let mut server = house.serve_on(Some(&disk));
        let mut client = server.client();
        let mut batch = if turn == 0 { begin_batch(&mut client) } else { another_batch(&mut client, 1) };
        for number in 1..=180 {
            let post: Vec<_> = (0..=chance.below(2)).map(|_| a_reading(chance)).collect();
            let ids: Vec<_> = post.iter().map(id).collect();
            let answer = client.append(batch, &post).expect("an answer");
            assert_eq!(answer.status, 200, "{}", answer.text);
            marks.write_all(&confirmed(&ids)).expect("written");
            posts.push(ids);
            if number % 60 == 0 {
                batch = another_batch(&mut client, 1);
            }
        }
        if turn == 1 { server.stop() } else { server.kill() }
    }
    Recorded { trace: fs::read(&trace).expect("a trace"), posts }
}

/// The medium, and what is still on its way there.
#[derive(Default)]
struct Medium<'a> {
    files: Vec<Content<'a>>,
    /// Which content a name stands for: as the folder was last synced, and now.
    names: HashMap<u8, usize>,
    names_now: HashMap<u8, usize>,
    /// The names after each change since.
    names_since: Vec<HashMap<u8, usize>>,
}

#[derive(Default)]
struct Content<'a> {
    synced: Vec<u8>,
    since: Vec<Change<'a>>,
}

#[derive(Clone)]
enum Change<'a> {
    Write(usize, &'a [u8]),
    Size(usize),
}

impl<'a> Medium<'a> {
    fn take(&mut self, record: &Record<'a>, syncs: bool) {
        match record.what {
            CREATE => {
                self.files.push(Content::default());
                self.names_now.insert(record.file, self.files.len() - 1);
                self.names_since.push(self.names_now.clone());
            }
            UNLINK => {
                self.names_now.remove(&record.file);
                self.names_since.push(self.names_now.clone());
            }
            WRITE => self.file(record.file).since.push(Change::Write(record.offset, record.bytes)),
            TRUNCATE => self.file(record.file).since.push(Change::Size(record.offset)),
            SYNC if !syncs => {}
            SYNC if record.file == FOLDER => {
                self.names = self.names_now.clone();
                self.names_since.clear();
            }
            SYNC => {
                let file = self.file(record.file);
                for change in std::mem::take(&mut file.since) {
                    change.make(&mut file.synced);
                }
            }
            _ => {}
        }
    }

    fn file(&mut self, name: u8) -> &mut Content<'a> {
        let place = self.names_now[&name];
        &mut self.files[place]
    }

    /// Writes what is left after a power cut. The -shm is memory, so it is gone.
    fn cut(&self, book: &Path, chance: &mut Chance) {
        // A file system keeps changes of names in their order.
        let kept = usize::try_from(chance.below(self.names_since.len() as u64 + 1)).expect("an index");
        let names = if kept == 0 { &self.names } else { &self.names_since[kept - 1] };
        for (name, ending) in [(DATA, ""), (WAL, "-wal"), (2, "-journal")] {
            let path = format!("{}{ending}", book.display());
            let _ = fs::remove_file(&path);
            if let Some(&place) = names.get(&name) {
                fs::write(path, self.files[place].left(chance)).expect("written");
            }
        }
        let _ = fs::remove_file(format!("{}-shm", book.display()));
    }
}

impl Content<'_> {
    fn left(&self, chance: &mut Chance) -> Vec<u8> {
        let mut left = self.synced.clone();
        let mut since = self.since.clone();
        match chance.below(4) {
            // All is lost, or all after some time.
            0 => return left,
            1 => since.truncate(usize::try_from(chance.below(since.len() as u64 + 1)).expect("an index")),
            // Each has a fate of its own, in their order or any other.
            in_any_order => {
                if in_any_order == 3 {
                    chance.shuffle(&mut since);
                }
                since.retain(|_| !chance.once_in(3));
                since.iter().for_each(|change| change.make_half(&mut left, chance));
                return left;
            }
        }
        since.iter().for_each(|change| change.make(&mut left));
        left
    }
}

impl Change<'_> {
    fn make(&self, content: &mut Vec<u8>) {
        match self {
            Self::Write(offset, bytes) => write(content, *offset, bytes),
            Self::Size(size) => content.resize(*size, 0),
        }
    }

    /// As [`Change::make`]; one write in three is torn.
    fn make_half(&self, content: &mut Vec<u8>, chance: &mut Chance) {
        let Self::Write(offset, bytes) = self else { return self.make(content) };
        if !chance.once_in(3) {
            return self.make(content);
        }
        let mut at = *offset;
        let mut rest: &[u8] = bytes;
        while !rest.is_empty() {
            let (sector, after) = rest.split_at(rest.len().min(SECTOR - at % SECTOR));
            match chance.below(8) {
                0 => {
                    let noise: Vec<u8> = sector.iter().map(|_| chance.next().to_ne_bytes()[0]).collect();
                    write(content, at, &noise);
                }
                1..5 => write(content, at, sector),
                _ => {}
            }
            (at, rest) = (at + sector.len(), after);
        }
    }
}

fn write(content: &mut Vec<u8>, offset: usize, bytes: &[u8]) {
    let end = offset + bytes.len();
    if content.len() < end {
        content.resize(end, 0);
    }
    content[offset..end].copy_from_slice(bytes);
}

/// Cuts the power at places taken by chance and tells what is wrong with what is left.
fn cut(recorded: &Recorded, cuts: u64, syncs: bool, chance: &mut Chance) -> Vec<String> {
    let folder = tempfile::tempdir().expect("a folder");
    let book = folder.path().join("book.db");
    let records = records(&recorded.trace);
    // Half of the cuts while the -wal is folded into the data file, which is rare and where it matters.
    let places: Vec<usize> = (0..records.len()).collect();
    let folding: Vec<usize> = places.iter().copied().filter(|place| records[*place].file == DATA).collect();
    let mut cuts: Vec<usize> =
        (0..cuts).map(|cut| *chance.one_of(if cut % 2 == 0 { &places } else { &folding })).collect();
    cuts.sort_unstable();
    println!("{} operations, {} of them on the data file itself", records.len(), folding.len());

    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build().expect("a runtime");
    let (mut medium, mut sure, mut wrong) = (Medium::default(), Vec::new(), Vec::new());
    let mut cuts = cuts.into_iter().peekable();
    for (place, record) in records.iter().enumerate() {
        while cuts.next_if_eq(&place).is_some() {
            medium.cut(&book, chance);
            if let Err(what) = runtime.block_on(judge(&book, &sure, &recorded.posts)) {
                wrong.push(format!("cut before operation {place}: {what}"));
            }
        }
        if record.what == CONFIRMED {
            sure.extend(record.bytes.chunks(16).map(|id| Uuid::from_slice(id).expect("16 bytes")));
        }
        medium.take(record, syncs);
    }
    wrong
}

/// What is wrong with a book after a power cut.
async fn judge(book: &Path, sure: &[Uuid], posts: &[Vec<Uuid>]) -> Result<(), String> {
    let store = Store::open(book).await.map_err(|why| format!("it does not open: {why}"))?;
    let looked = look(&store).await;
    store.close().await;
    looked?;
    let book = book.to_owned();
    let there: HashMap<Uuid, ()> =
        std::thread::spawn(move || ids_in(&book)).join().expect("read").into_iter().map(|id| (id, ())).collect();
    let lost = sure.iter().filter(|id| !there.contains_key(id)).count();
    if lost > 0 {
        return Err(format!("{lost} of {} confirmed entries are lost", sure.len()));
    }
    let half = posts.iter().filter(|post| {
        let many = post.iter().filter(|id| there.contains_key(id)).count();
        many != 0 && many != post.len()
    });
    match half.count() {
        0 => Ok(()),
        half => Err(format!("{half} posts are there by half")),
    }
}

async fn look(store: &Store) -> Result<(), String> {
    let found = store.check_file().await.map_err(|why| why.to_string())?;
    if !found.is_empty() {
        return Err(found.join("; "));
    }
    let checked = store.check_summaries().await.map_err(|why| why.to_string())?;
    if checked.different.is_empty() { Ok(()) } else { Err(format!("summaries of {:?} differ", checked.different)) }
}

#[test]
fn a_power_cut_has_lost_nothing_that_was_confirmed() {
    let (cuts, mut chance) = (times("GYLEBOOK_CUTS", 300), Chance::new("power cuts"));
    let recorded = record(&mut chance);
    let wrong = cut(&recorded, cuts, true, &mut chance);
    assert!(wrong.is_empty(), "{} of {cuts} cuts:\n{}", wrong.len(), wrong.join("\n"));
    println!("{cuts} power cuts, {} posts, 0 lost, 0 half", recorded.posts.len());

    // The same on a disk that lies about syncing.
    let cuts = 30;
    let wrong = cut(&recorded, cuts, false, &mut chance);
    println!("{} of {cuts} cuts lose something where the disk does not sync, the first: {}", wrong.len(), wrong[0]);
    assert!(wrong.len() > 10, "a disk that syncs nothing must be seen to lose: {wrong:?}");
}
