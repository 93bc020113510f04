//! What a newcomer may begin with, to use as it is or to make one's own.

mod equipment;

pub use equipment::equipment;
