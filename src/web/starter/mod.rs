//! What a newcomer may begin with, to use as it is or to make one's own.

mod equipment;
mod recipe;

pub use equipment::equipment;
pub use recipe::recipe;
