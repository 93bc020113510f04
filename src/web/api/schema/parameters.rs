//! What an address may hold.

use utoipa::IntoParams;

/// The number in an address.
#[derive(IntoParams)]
#[into_params(parameter_in = Path)]
#[expect(dead_code, reason = "described, and read by `asked::Id`")]
pub(in crate::web::api) struct ById {
    /// The record's number.
    #[param(minimum = 1)]
    id: i64,
}

/// Which part of a list is wanted.
#[derive(IntoParams)]
#[into_params(parameter_in = Query)]
#[expect(dead_code, reason = "described, and read by `asked::Part`")]
pub(in crate::web::api) struct Paging {
    /// The last record of the part before.
    #[param(minimum = 0, nullable = false)]
    after: Option<i64>,
    /// At most so many records; 50 where nothing is said.
    #[param(minimum = 1, maximum = 200, nullable = false)]
    limit: Option<i64>,
}

/// Which records are wanted.
#[derive(IntoParams)]
#[into_params(parameter_in = Query)]
#[expect(dead_code, reason = "described, and read by `asked::Part`")]
pub(in crate::web::api) struct Retired {
    /// Those put away instead of those in use.
    #[param(nullable = false)]
    retired: Option<bool>,
}

/// Which entries are wanted.
#[derive(IntoParams)]
#[into_params(parameter_in = Query)]
#[expect(dead_code, reason = "described, and read by `asked::Part`")]
pub(in crate::web::api) struct After {
    /// Those after this place in the book.
    #[param(minimum = 0, nullable = false)]
    after: Option<i64>,
}
