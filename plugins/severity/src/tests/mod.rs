//! Calls made by hand.
