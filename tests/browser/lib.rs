//! Harness for the browser tests.
