//! The brewer's choices: one row, or none yet.

use std::sync::{Mutex, PoisonError};

use super::{AsOf, Result, Store, from_json, to_json};
use crate::brewday::Settings;

/// The choices as they were read last: every page asks for them.
pub(super) type Kept = Mutex<Option<(AsOf, Settings)>>;

impl Store {
    /// The brewer's choices; the defaults where none were made.
    ///
    /// # Errors
    /// The data file can't be read.
    pub async fn settings(&self) -> Result<Settings> {
        let as_of = self.as_of();
        let kept = || self.0.settings.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, settings)) = kept().as_ref().filter(|(then, _)| *then == as_of) {
            return Ok(settings.clone());
        }
        let body = sqlx::query_scalar!("select body from setting").fetch_optional(&self.0.readers).await?;
        let settings = body.map_or_else(|| Ok(Settings::default()), |body| from_json("the settings", &body))?;
        *kept() = Some((as_of, settings.clone()));
        Ok(settings)
    }

    /// Keeps the brewer's choices.
    ///
    /// # Errors
    /// The data file can't be written.
    pub async fn save_settings(&self, settings: &Settings) -> Result<()> {
        let body = to_json(settings)?;
        let mut change = self.begin().await?;
        sqlx::query!(
            "
            insert into setting (setting_id, body) values (1, ?)
            on conflict (setting_id) do update set body = excluded.body
            ",
            body,
        )
        .execute(&mut *change)
        .await?;
        change.commit().await
    }
}

#[cfg(test)]
mod tests {
    use crate::brewday::Settings;
    use crate::store::testing::{Book, book};

    #[tokio::test]
    async fn settings_are_the_defaults_until_they_are_saved() {
        let Book { store, folder: _folder } = book().await;
        assert_eq!(store.settings().await.unwrap(), Settings::default());
        let mut settings = Settings { house: "Shed".into(), welcomed: true, ..Settings::default() };
        store.save_settings(&settings).await.unwrap();
        settings.altitude_m = Some(412.5);
        store.save_settings(&settings).await.unwrap();
        assert_eq!(store.settings().await.unwrap(), settings);
    }
}
