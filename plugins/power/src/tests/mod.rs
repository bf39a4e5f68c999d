//! The plugin on plans made by hand.
