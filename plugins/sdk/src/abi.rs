//! The binary contract: the structs of `include/caneplot_plugin.h`, one for one.
//!
//! **Nothing changes hands.** A plugin borrows all it is given until `analyse` returns; the program
//! copies all it is told inside the callback. There is no free function and no shared allocator.
//!
//! The structs are frozen: a later minor version may only add members at the end of [`Host`] and
//! [`Request`], which is why both begin with their own size. Everything else grows in the JSON.

use std::ffi::{c_char, c_void};

/// Version of this contract: `(major << 16) | minor`.
///
/// It changes with the header, and only with it: a test holds the two together.
pub const ABI_VERSION: u32 = 1 << 16;

/// Name of the symbol that tells the version, called before anything else.
pub const ABI_SYMBOL: &str = "caneplot_abi";

/// Name of the symbol that gives the plugin's table.
pub const PLUGIN_SYMBOL: &str = "caneplot_plugin_v1";

/// `analyse` called `emit` once.
pub const OK: i32 = 0;
/// `analyse` called `refuse` with a sentence for the user.
pub const REFUSED: i32 = 1;
/// `analyse` stopped on a mistake in its own code and called `refuse` with what it knows of it.
pub const PANICKED: i32 = 2;

/// Log level of a remark.
pub const NOTE: u32 = 0;
/// Log level of a doubt.
pub const WARNING: u32 = 1;

/// A version in words, such as `1.0`.
#[must_use]
pub fn version_text(version: u32) -> String {
    format!("{}.{}", version >> 16, version & 0xffff)
}

/// UTF-8 text without a closing zero, borrowed.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct Bytes {
    /// First byte; may be null where `len` is 0.
    pub ptr: *const u8,
    /// Number of bytes.
    pub len: usize,
}

impl Bytes {
    /// The bytes of a text.
    #[must_use]
    pub const fn new(text: &str) -> Self {
        Self {
            ptr: text.as_ptr(),
            len: text.len(),
        }
    }

    /// The text, or `None` where it is not UTF-8.
    ///
    /// # Safety
    /// `ptr` must be valid for reading `len` bytes for as long as the result is used.
    #[must_use]
    pub unsafe fn text<'a>(self) -> Option<&'a str> {
        if self.len == 0 {
            return Some("");
        }
        if self.ptr.is_null() {
            return None;
        }
        // SAFETY: not null, and readable for `len` bytes by this function's own contract.
        std::str::from_utf8(unsafe { std::slice::from_raw_parts(self.ptr, self.len) }).ok()
    }
}

/// Type of a column or table: the Arrow C Data Interface's schema.
#[repr(C)]
#[derive(Debug)]
pub struct ArrowSchema {
    /// Type as text: `+s`, `g`, `l`, `b` or `U`.
    pub format: *const c_char,
    /// Name of the column.
    pub name: *const c_char,
    /// Not used here.
    pub metadata: *const c_char,
    /// Not used here.
    pub flags: i64,
    /// Number of columns.
    pub n_children: i64,
    /// The columns.
    pub children: *mut *mut ArrowSchema,
    /// Not used here.
    pub dictionary: *mut ArrowSchema,
    /// The program's business.
    pub release: Option<unsafe extern "C" fn(*mut ArrowSchema)>,
    /// The program's business.
    pub private_data: *mut c_void,
}

/// Data of a column or table: the Arrow C Data Interface's array.
#[repr(C)]
#[derive(Debug)]
pub struct ArrowArray {
    /// Number of rows.
    pub length: i64,
    /// Number of missing values, -1 where not counted.
    pub null_count: i64,
    /// Rows of the buffers to skip.
    pub offset: i64,
    /// Number of buffers.
    pub n_buffers: i64,
    /// Number of columns.
    pub n_children: i64,
    /// Validity bitmap (null where nothing is missing), then the data.
    pub buffers: *mut *const c_void,
    /// The columns.
    pub children: *mut *mut ArrowArray,
    /// Not used here.
    pub dictionary: *mut ArrowArray,
    /// The program's business.
    pub release: Option<unsafe extern "C" fn(*mut ArrowArray)>,
    /// The program's business.
    pub private_data: *mut c_void,
}

/// One table: a struct array in one chunk.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct Table {
    /// "plots" or "vines".
    pub name: Bytes,
    /// Its columns' names and types.
    pub schema: *const ArrowSchema,
    /// Its columns' data.
    pub array: *const ArrowArray,
}

/// What is asked of the plugin.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct Request {
    /// Size of this struct in the program that made it.
    pub struct_size: u32,
    /// Number of tables.
    pub n_tables: u32,
    /// Name of the analysis.
    pub analysis: Bytes,
    /// Options as a JSON object, complete.
    pub options_json: Bytes,
    /// The trial as a JSON object, see [`crate::request::TrialInfo`].
    pub trial_json: Bytes,
    /// Seed for anything random.
    pub seed: u64,
    /// The tables.
    pub tables: *const Table,
}

/// What the plugin may call while it runs, from the thread that runs `analyse`.
#[repr(C)]
#[derive(Debug, Clone, Copy)]
pub struct Host {
    /// Size of this struct in the program that made it.
    pub struct_size: u32,
    /// [`ABI_VERSION`] of that program.
    pub abi: u32,
    /// Handed back to every callback.
    pub ctx: *mut c_void,
    /// The findings as JSON, once.
    pub emit: unsafe extern "C" fn(ctx: *mut c_void, findings_json: Bytes),
    /// Why there are none, as JSON: see [`crate::Refusal`].
    pub refuse: unsafe extern "C" fn(ctx: *mut c_void, refusal_json: Bytes),
    /// How far the work is, from 0 to 1.
    pub progress: unsafe extern "C" fn(ctx: *mut c_void, fraction: f64),
    /// A line for the job's log.
    pub log: unsafe extern "C" fn(ctx: *mut c_void, level: u32, text: Bytes),
}

/// Type of the function that does the work.
pub type Analyse = unsafe extern "C" fn(host: *const Host, request: *const Request) -> i32;

/// The plugin's table, a static of the library.
#[repr(C)]
#[derive(Debug)]
pub struct Plugin {
    /// Size of this struct in the plugin.
    pub struct_size: u32,
    /// [`ABI_VERSION`] the plugin was built with.
    pub abi: u32,
    /// The manifest, see [`crate::manifest::Manifest`].
    pub manifest_json: Bytes,
    /// The work.
    pub analyse: Analyse,
}

// SAFETY: the table and the text it points at are constants of the library and are only read.
unsafe impl Sync for Plugin {}

#[cfg(test)]
mod tests {
    use super::*;
    use sha2::{Digest, Sha256};
    use std::fmt::Write as _;

    /// Whoever changes the header must raise the version by its rules and record both here.
    #[test]
    fn the_header_has_not_changed_without_its_version() {
        let header = include_str!("../include/caneplot_plugin.h");
        let hash =
            Sha256::digest(header.as_bytes())
                .iter()
                .fold(String::new(), |mut text, byte| {
                    let _ = write!(text, "{byte:02x}");
                    text
                });
        assert_eq!(
            (ABI_VERSION, hash.as_str()),
            (
                0x0001_0000,
                "d856545da57cc91bd29046193d418866d35263853a435d03b60970236f6c3c28"
            )
        );
        assert!(header.contains("#define CANEPLOT_ABI 0x00010000u"));
    }

    /// Sizes on a 64-bit machine, as the C compiler lays the header out (also asserted there).
    #[test]
    #[cfg(target_pointer_width = "64")]
    fn structs_have_the_sizes_of_the_header() {
        assert_eq!(size_of::<Bytes>(), 16);
        assert_eq!(size_of::<ArrowSchema>(), 72);
        assert_eq!(size_of::<ArrowArray>(), 80);
        assert_eq!(size_of::<Table>(), 32);
        assert_eq!(size_of::<Request>(), 72);
        assert_eq!(size_of::<Host>(), 48);
        assert_eq!(size_of::<Plugin>(), 32);
    }
}
