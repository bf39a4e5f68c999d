//! The worker's side of the contract: load a library, shake hands, call.
//!
//! With `export.rs` the only unsafe code of the program. It runs in a worker process that loads one
//! plugin and ends: whatever the library does to its process, the program goes on.

use std::ffi::c_void;
use std::path::Path;

use caneplot_plugin::abi::{self, version_text};
use caneplot_plugin::{Manifest, Refusal, Request};
use libloading::Library;

use super::export::Exported;
use super::job::Setback;

/// A plugin whose contract, version and manifest have been checked.
pub struct Opened {
    table: &'static abi::Plugin,
    /// The manifest as the plugin gives it.
    pub manifest_json: String,
}

/// What a plugin said during a call.
#[derive(Default)]
struct Said {
    findings: Vec<Option<String>>,
    refusal: Option<String>,
    progress: Option<Box<dyn FnMut(f64)>>,
}

impl Opened {
    /// Loads a library and shakes hands, in the order that asks least of a stranger.
    ///
    /// # Errors
    /// Which step failed.
    pub fn new(name: &str, path: &Path) -> Result<Self, Setback> {
        let library = load(path).map_err(|error| Setback::Load {
            reason: chain(&error),
        })?;
        // A library is never unloaded: it may have threads and thread-local destructors.
        let library: &'static Library = Box::leak(Box::new(library));
        let missing = |symbol: &str| Setback::NotAPlugin {
            symbol: symbol.to_owned(),
        };
        // SAFETY: a library with this symbol promises this signature, for ever.
        let version = unsafe { library.get::<unsafe extern "C" fn() -> u32>(abi::ABI_SYMBOL) }
            .map_err(|_| missing(abi::ABI_SYMBOL))?;
        // SAFETY: the promised signature.
        let spoken = unsafe { version() };
        let ours = abi::ABI_VERSION;
        if spoken >> 16 != ours >> 16 || spoken > ours {
            return Err(Setback::Abi { spoken, ours });
        }
        // SAFETY: as above; the symbol's name carries the major version.
        let table = unsafe {
            library.get::<unsafe extern "C" fn() -> *const abi::Plugin>(abi::PLUGIN_SYMBOL)
        }
        .map_err(|_| missing(abi::PLUGIN_SYMBOL))?;
        // SAFETY: the promised signature; the table is a static of a library that stays loaded.
        let Some(table) = (unsafe { table().as_ref::<'static>() }) else {
            return Err(Setback::BadReply {
                reason: format!("{} gives no table", abi::PLUGIN_SYMBOL),
            });
        };
        if (table.struct_size as usize) < size_of::<abi::Plugin>() {
            return Err(Setback::BadReply {
                reason: format!(
                    "its table has {} bytes, version {} has {}",
                    table.struct_size,
                    version_text(ours),
                    size_of::<abi::Plugin>()
                ),
            });
        }
        let unfit = |reason: String| Setback::Manifest { reason };
        // SAFETY: the manifest is a static text of the library.
        let manifest_json = unsafe { table.manifest_json.text() }
            .ok_or_else(|| unfit("it is not UTF-8".to_owned()))?
            .to_owned();
        let manifest = Manifest::read(&manifest_json).map_err(unfit)?;
        if manifest.name != name {
            return Err(unfit(format!(
                "it is of '{}', but the file is that of '{name}'",
                manifest.name
            )));
        }
        Ok(Self {
            table,
            manifest_json,
        })
    }

    /// Runs the analysis and gives the findings as the plugin wrote them.
    ///
    /// `progress` is called with the share of the work done.
    ///
    /// # Errors
    /// The plugin's refusal or panic, or how it broke the contract.
    pub fn analyse(
        &self,
        request: &Request,
        tables: &[Exported],
        progress: Box<dyn FnMut(f64)>,
    ) -> Result<String, Setback> {
        let broken = |reason: &str| Setback::BadReply {
            reason: reason.to_owned(),
        };
        let json = |value: Result<String, serde_json::Error>| {
            value.map_err(|error| Setback::Job {
                reason: error.to_string(),
            })
        };
        let options = json(serde_json::to_string(&request.options))?;
        let trial = json(serde_json::to_string(&request.trial))?;
        let tables: Vec<abi::Table> = tables.iter().map(Exported::table).collect();
        let mut said = Said {
            progress: Some(progress),
            ..Said::default()
        };
        let host = abi::Host {
            // The structs are some tens of bytes long.
            struct_size: size_of::<abi::Host>() as u32,
            abi: abi::ABI_VERSION,
            ctx: std::ptr::from_mut(&mut said).cast(),
            emit,
            refuse,
            progress: on_progress,
            log,
        };
        let call = abi::Request {
            struct_size: size_of::<abi::Request>() as u32,
            // One or two.
            n_tables: tables.len() as u32,
            analysis: abi::Bytes::new(&request.analysis),
            options_json: abi::Bytes::new(&options),
            trial_json: abi::Bytes::new(&trial),
            seed: request.seed,
            tables: tables.as_ptr(),
        };
        // SAFETY: everything pointed at outlives the call, and `said` is reached through `ctx` only.
        let code = unsafe { (self.table.analyse)(&raw const host, &raw const call) };
        let refusal = |said: &Said| -> Result<Refusal, Setback> {
            let text = said
                .refusal
                .as_deref()
                .ok_or_else(|| broken("it refused without a sentence"))?;
            serde_json::from_str(text)
                .map_err(|error| broken(&format!("its refusal cannot be read: {error}")))
        };
        match code {
            abi::OK => match said.findings.as_mut_slice() {
                [Some(findings)] => Ok(std::mem::take(findings)),
                [None] => Err(broken("its findings are not UTF-8")),
                [] => Err(broken("it reported success but gave no findings")),
                _ => Err(broken("it gave findings more than once")),
            },
            abi::REFUSED => Err(Setback::Refused {
                refusal: refusal(&said)?,
            }),
            abi::PANICKED => Err(Setback::Panicked {
                reason: refusal(&said)?.message,
            }),
            other => Err(broken(&format!("it returned the unknown code {other}"))),
        }
    }
}

/// Loads a library at once and for itself, so that a missing symbol shows here and not in a call.
#[cfg(unix)]
fn load(path: &Path) -> Result<Library, libloading::Error> {
    use libloading::os::unix::{Library as Unix, RTLD_LOCAL, RTLD_NOW};
    // SAFETY: the constructors of the library run; its hash is one that the user trusts, and this
    // process does nothing else.
    unsafe { Unix::open(Some(path), RTLD_NOW | RTLD_LOCAL) }.map(Into::into)
}

#[cfg(not(unix))]
fn load(path: &Path) -> Result<Library, libloading::Error> {
    // SAFETY: as on Unix.
    unsafe { Library::new(path) }
}

/// An error with its causes: the outermost text alone says only that loading failed.
fn chain(error: &dyn std::error::Error) -> String {
    let mut text = error.to_string();
    let mut source = error.source();
    while let Some(cause) = source {
        text = format!("{text}: {cause}");
        source = cause.source();
    }
    text
}

/// # Safety
/// `ctx` must be the one given in [`abi::Host`], during the call and on its thread.
unsafe fn said<'a>(ctx: *mut c_void) -> &'a mut Said {
    // SAFETY: `ctx` points at the `Said` of the running call; callbacks do not nest.
    unsafe { &mut *ctx.cast::<Said>() }
}

unsafe extern "C" fn emit(ctx: *mut c_void, findings: abi::Bytes) {
    // SAFETY: the plugin hands back `ctx` and a text valid during the callback.
    let (said, text) = unsafe { (said(ctx), findings.text()) };
    said.findings.push(text.map(ToOwned::to_owned));
}

unsafe extern "C" fn refuse(ctx: *mut c_void, refusal: abi::Bytes) {
    // SAFETY: as for `emit`.
    let (said, text) = unsafe { (said(ctx), refusal.text()) };
    said.refusal = text.map(ToOwned::to_owned);
}

unsafe extern "C" fn on_progress(ctx: *mut c_void, fraction: f64) {
    // SAFETY: as for `emit`.
    if let Some(progress) = unsafe { said(ctx) }.progress.as_mut() {
        progress(fraction);
    }
}

unsafe extern "C" fn log(_ctx: *mut c_void, level: u32, text: abi::Bytes) {
    // SAFETY: as for `emit`.
    let text = unsafe { text.text() }.unwrap_or("(a text that is not UTF-8)");
    let word = if level >= abi::WARNING {
        "warning"
    } else {
        "note"
    };
    // Standard error of a worker is its log.
    eprintln!("{word}: {text}");
}
