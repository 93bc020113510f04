//! `shim.c`, built and put under a server.

use std::fs::{self, File};
use std::os::unix::fs::FileExt;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::LazyLock;

use uuid::Uuid;

use crate::house::House;

/// Kills the server in place of the operation.
pub(crate) const KILL: i64 = 1000;
/// Kills the server when half the bytes are written.
pub(crate) const KILL_HALF_WAY: i64 = 1001;
/// No room left on the device.
pub(crate) const ENOSPC: i64 = 28;
/// The device gave up.
pub(crate) const EIO: i64 = 5;
/// The file system can only be read.
pub(crate) const EROFS: i64 = 30;

/// The data file and its -wal.
pub(crate) const DATA: u8 = 0;
pub(crate) const WAL: u8 = 1;
/// The folder they are in.
pub(crate) const FOLDER: u8 = 4;

/// An operation, as the trace names it.
pub(crate) const WRITE: u8 = 1;
pub(crate) const TRUNCATE: u8 = 2;
pub(crate) const SYNC: u8 = 3;
pub(crate) const CREATE: u8 = 4;
pub(crate) const UNLINK: u8 = 5;
/// Not of the disk: the tests have read the answer that confirms these ids.
pub(crate) const CONFIRMED: u8 = 9;

static SHIM: LazyLock<PathBuf> = LazyLock::new(|| {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR"));
    let (part, built) = (folder.join(format!("shim-{}.so", std::process::id())), folder.join("shim.so"));
    let source = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/crash/shim.c");
    let mut cc = Command::new("cc");
    cc.args(["-O1", "-shared", "-fPIC", "-Wall", "-Wextra", "-Werror", "-o"]).arg(&part).arg(source).arg("-ldl");
    assert!(cc.status().expect("the compiler that builds SQLite").success());
    // Another run of the tests may have it loaded.
    fs::rename(&part, &built).expect("the same folder");
    built
});

/// The disk under a house's server.
pub(crate) struct Disk {
    book: PathBuf,
    trace: Option<PathBuf>,
    control: File,
    control_path: PathBuf,
}

impl Disk {
    pub(crate) fn of(house: &House) -> Self {
        Self::under(house, &house.book)
    }

    /// The disk under another file, and under copies of it.
    pub(crate) fn under(house: &House, file: &Path) -> Self {
        let control_path = house.at("control");
        fs::write(&control_path, [0; 64]).expect("room for it");
        let control = File::options().read(true).write(true).open(&control_path).expect("just made");
        let disk = Self { book: file.to_owned(), trace: None, control, control_path };
        disk.spare();
        disk
    }

    /// A disk that tells what is done to it.
    pub(crate) fn told_to(mut self, trace: &Path) -> Self {
        self.trace = Some(trace.to_owned());
        self
    }

    pub(crate) fn put_under(&self, command: &mut Command) {
        command.env("LD_PRELOAD", SHIM.as_path()).env("SHIM_DATA", &self.book).env("SHIM_CONTROL", &self.control_path);
        if let Some(trace) = &self.trace {
            command.env("SHIM_TRACE", trace);
        }
    }

    /// Lets so many operations pass, then strikes: once, or at all that follow.
    pub(crate) fn strike(&self, after: i64, action: i64, lasts: bool) {
        self.strike_at(after, action, lasts, 0b1_1111);
    }

    /// As [`Disk::strike`], but at these files only, a bit each.
    pub(crate) fn strike_at(&self, after: i64, action: i64, lasts: bool, files: i64) {
        for (place, value) in [(5, files), (4, 0), (3, 0), (2, i64::from(lasts)), (1, action), (0, after)] {
            self.set(place, value);
        }
    }

    /// Strikes no more.
    pub(crate) fn spare(&self) {
        self.strike_at(-1, 0, false, 0b1_1111);
    }

    /// How often it has struck since it was last told.
    pub(crate) fn struck(&self) -> i64 {
        self.number(3)
    }

    fn set(&self, place: u64, value: i64) {
        self.control.write_all_at(&value.to_ne_bytes(), place * 8).expect("written");
    }

    fn number(&self, place: u64) -> i64 {
        let mut bytes = [0; 8];
        self.control.read_exact_at(&mut bytes, place * 8).expect("read");
        i64::from_ne_bytes(bytes)
    }
}

/// One line of a trace.
#[derive(Debug)]
pub(crate) struct Record<'a> {
    pub(crate) what: u8,
    pub(crate) file: u8,
    /// Of a write; the new size at a truncation.
    pub(crate) offset: usize,
    pub(crate) bytes: &'a [u8],
}

/// A trace, in the order it happened.
pub(crate) fn records(trace: &[u8]) -> Vec<Record<'_>> {
    let (mut records, mut rest) = (Vec::new(), trace);
    while let Some((head, after)) = rest.split_first_chunk::<16>() {
        let length = u32::from_ne_bytes(head[4..8].try_into().expect("four bytes"));
        let offset = u64::from_ne_bytes(head[8..].try_into().expect("eight bytes"));
        let (bytes, next) = after.split_at(usize::try_from(length).expect("a length"));
        let offset = usize::try_from(offset).expect("an offset");
        records.push(Record { what: head[0], file: head[1], offset, bytes });
        rest = next;
    }
    records
}

/// What the tests add to a trace: the answer that confirms these ids has been read.
pub(crate) fn confirmed(ids: &[Uuid]) -> Vec<u8> {
    let length = u32::try_from(ids.len() * 16).expect("a few ids");
    let mut record = vec![CONFIRMED, 5, 0, 0];
    record.extend(length.to_ne_bytes());
    record.extend([0; 8]);
    record.extend(ids.iter().flat_map(|id| *id.as_bytes()));
    record
}
