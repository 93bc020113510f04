//! What a chill's stages are called wherever they stand in a row.

use crate::brewday::choices::{Choice, Cooling};

/// "bath 1", "bath 2", "ice bath": still baths are counted, the rest named.
#[must_use]
pub fn stage_labels(methods: impl IntoIterator<Item = Cooling>) -> Vec<String> {
    let mut baths = 0;
    let label = |method: Cooling| {
        baths += usize::from(method == Cooling::StillBath);
        match method {
            Cooling::StillBath => format!("bath {baths}"),
            other => other.label().to_lowercase(),
        }
    };
    methods.into_iter().map(label).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn still_baths_are_counted_and_the_rest_named() {
        let methods = [Cooling::RunningWater, Cooling::StillBath, Cooling::StillBath, Cooling::IceBath];
        assert_eq!(stage_labels(methods), ["running water", "bath 1", "bath 2", "ice bath"]);
    }
}
