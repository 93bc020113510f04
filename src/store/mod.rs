//! A stand-in until the store's own branch is merged: settings in memory.

use std::sync::{Arc, Mutex, PoisonError};

use crate::brewday::Settings;

/// The book.
#[derive(Clone, Debug, Default)]
pub struct Store(Arc<Mutex<Settings>>);

impl Store {
    /// The brewer's choices.
    ///
    /// # Errors
    /// None here.
    pub async fn settings(&self) -> anyhow::Result<Settings> {
        Ok(self.0.lock().unwrap_or_else(PoisonError::into_inner).clone())
    }

    /// Keeps the brewer's choices.
    ///
    /// # Errors
    /// None here.
    pub async fn save_settings(&self, settings: &Settings) -> anyhow::Result<()> {
        *self.0.lock().unwrap_or_else(PoisonError::into_inner) = settings.clone();
        Ok(())
    }

    /// Whether the book can be written.
    ///
    /// # Errors
    /// None here.
    pub async fn check_writable(&self) -> anyhow::Result<()> {
        Ok(())
    }
}
