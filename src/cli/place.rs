//! Where the data file is.

use std::path::{Path, PathBuf};

use anyhow::Context;
use clap::Args;
use directories::ProjectDirs;

/// Which data file a command is about.
#[derive(Debug, Args)]
pub(super) struct Data {
    /// The data file; without it, the one in your data folder.
    #[arg(long, value_name = "FILE", env = "GYLEBOOK_DATA")]
    data: Option<PathBuf>,
}

impl Data {
    /// The data file that was named, else the one in the platform's data folder.
    pub(super) fn file(&self) -> anyhow::Result<PathBuf> {
        if let Some(file) = &self.data {
            return Ok(file.clone());
        }
        let folders = ProjectDirs::from("", "", "gylebook")
            .context("There is no home folder to keep the data file in. Name a file with --data.")?;
        Ok(folders.data_dir().join("gylebook.db"))
    }
}

/// The demo brew house's own file beside the real one.
pub(super) fn demo_beside(file: &Path) -> PathBuf {
    let mut name = file.file_stem().unwrap_or_default().to_owned();
    name.push("-demo");
    if let Some(extension) = file.extension() {
        name.push(".");
        name.push(extension);
    }
    file.with_file_name(name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_demo_has_a_file_of_its_own_beside_the_real_one() {
        assert_eq!(demo_beside(Path::new("a/house.db")), Path::new("a/house-demo.db"));
        assert_eq!(demo_beside(Path::new("house")), Path::new("house-demo"));
    }
}
