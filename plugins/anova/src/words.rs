//! Names as they read inside a sentence: the words every plugin shares.

pub(crate) use caneplot_plugin::words::{
    axis, beginning, counted, inside, level, list, plain, safe, unit, was,
};
