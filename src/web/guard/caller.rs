//! Who is asking.

use std::convert::Infallible;

use axum::{
    extract::FromRequestParts,
    http::{Extensions, request::Parts},
};

use crate::store::{Device, DeviceKind};

/// Who is asking, as the [`door`](super::door) found out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Caller {
    /// The person at the machine itself, who needs no leave.
    Owner,
    /// A device that was let in.
    Device(Device),
    /// Anybody else.
    Stranger,
}

impl Caller {
    pub(super) fn of(extensions: &Extensions) -> Self {
        // Without the door nobody is known.
        extensions.get::<Self>().cloned().unwrap_or(Self::Stranger)
    }

    /// The name that is written beside what the caller logs; none for the
    /// machine itself.
    #[must_use]
    pub fn name(&self) -> Option<&str> {
        match self {
            Self::Device(device) => Some(&device.name),
            Self::Owner | Self::Stranger => None,
        }
    }

    /// The device, where it is one.
    #[must_use]
    pub fn device(&self) -> Option<&Device> {
        match self {
            Self::Device(device) => Some(device),
            Self::Owner | Self::Stranger => None,
        }
    }

    pub(super) fn is_probe(&self) -> bool {
        self.device().is_some_and(|device| device.kind == DeviceKind::Probe)
    }

    /// What forms made for this caller are sealed for, and what its streams count under.
    pub(super) fn key(&self) -> String {
        match self {
            Self::Owner => "owner".into(),
            Self::Device(device) => format!("device {}", device.id),
            Self::Stranger => "stranger".into(),
        }
    }
}

impl<S: Sync> FromRequestParts<S> for Caller {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        Ok(Self::of(&parts.extensions))
    }
}
