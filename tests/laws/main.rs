//! Laws the science must keep, whatever the numbers.

mod chill;
