//! The plugin's side of the contract: from the C structs to [`Analysis`] and back.

use std::cell::Cell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Mutex, Once, PoisonError};

use crate::abi;
use crate::call::{Analysis, Call, Refusal};
use crate::findings::Findings;
use crate::import::table_from_arrow;
use crate::request::Request;
use crate::validate;

/// Exports an [`Analysis`](crate::Analysis), a unit struct, as the plugin of this library.
///
/// Use it once in a crate of `crate-type = ["cdylib"]`.
///
/// ```
/// use caneplot_plugin::findings::{FINDINGS_SCHEMA, Findings, Format, Section, Statement};
/// use caneplot_plugin::{Analysis, Call, Refusal, export_plugin};
///
/// struct Plots;
///
/// impl Analysis for Plots {
///     const MANIFEST: &'static str =
///         r#"{"name": "plots", "version": "0.1.0", "purpose": "How many plots there are"}"#;
///
///     fn analyse(&self, call: &Call) -> Result<Findings, Refusal> {
///         let rows = call.table("plots")?.rows as f64;
///         let count = Statement::new("There are {n} plots.").with("n", rows, Format::Count);
///         Ok(Findings {
///             schema: FINDINGS_SCHEMA,
///             sections: vec![Section {
///                 id: "plots".into(),
///                 title: "Plots".into(),
///                 statements: vec![count],
///                 ..Section::default()
///             }],
///             methods: Vec::new(),
///             references: Vec::new(),
///         })
///     }
/// }
///
/// export_plugin!(Plots);
/// ```
#[macro_export]
macro_rules! export_plugin {
    ($analysis:path) => {
        const _: () = {
            static PLUGIN: $crate::abi::Plugin = $crate::abi::Plugin {
                struct_size: ::std::mem::size_of::<$crate::abi::Plugin>() as u32,
                abi: $crate::abi::ABI_VERSION,
                manifest_json: $crate::abi::Bytes::new(<$analysis as $crate::Analysis>::MANIFEST),
                analyse,
            };

            unsafe extern "C" fn analyse(
                host: *const $crate::abi::Host,
                request: *const $crate::abi::Request,
            ) -> i32 {
                // SAFETY: the program calls this with its own structs, valid until it returns.
                unsafe { $crate::export::run(&$analysis, host, request) }
            }

            #[unsafe(no_mangle)]
            extern "C" fn caneplot_abi() -> u32 {
                $crate::abi::ABI_VERSION
            }

            #[unsafe(no_mangle)]
            extern "C" fn caneplot_plugin_v1() -> *const $crate::abi::Plugin {
                &PLUGIN
            }
        };
    };
}

/// Runs an analysis for the program: what [`export_plugin!`] exports.
///
/// # Safety
/// `host` and `request` must be null or point at structs that follow [`crate::abi`] and stay valid
/// until this returns.
pub unsafe fn run<A: Analysis>(
    analysis: &A,
    host: *const abi::Host,
    request: *const abi::Request,
) -> i32 {
    // SAFETY: the caller's contract.
    let (host, request) = match unsafe { (host.as_ref(), request.as_ref()) } {
        (Some(host), Some(request)) => (host, request),
        _ => return abi::REFUSED,
    };
    keep_panics();
    // What a panicking analysis touched is not used again: nothing is seen half done.
    let outcome = catch_unwind(AssertUnwindSafe(|| {
        CURRENT.set(host);
        // SAFETY: the caller's contract.
        let call = unsafe { call_of(request) }.map_err(Refusal::new)?;
        analysis.analyse(&call)
    }));
    CURRENT.set(std::ptr::null());
    let (code, refusal) = match outcome {
        Ok(Ok(findings)) => match findings_json(&findings) {
            Ok(json) => {
                // SAFETY: `ctx` is the program's own, and it copies the text before it returns.
                unsafe { (host.emit)(host.ctx, abi::Bytes::new(&json)) };
                return abi::OK;
            }
            // Invalid findings are a mistake of the plugin, not something a user can put right.
            Err(fault) => (abi::PANICKED, Refusal::new(fault)),
        },
        Ok(Err(refusal)) => (abi::REFUSED, refusal),
        Err(payload) => (abi::PANICKED, Refusal::new(panic_text(payload.as_ref()))),
    };
    // A refusal is made of text and whole numbers, which JSON can always carry.
    let json = serde_json::to_string(&refusal).unwrap_or_default();
    // SAFETY: as above.
    unsafe { (host.refuse)(host.ctx, abi::Bytes::new(&json)) };
    code
}

/// The findings as JSON, after [`validate::check`].
///
/// # Errors
/// A sentence that names the place in the document.
pub fn findings_json(findings: &Findings) -> Result<String, String> {
    validate::check(findings).map_err(|fault| format!("its findings are not valid: {fault}"))?;
    serde_json::to_string(findings).map_err(|error| error.to_string())
}

/// # Safety
/// As for [`run`].
unsafe fn call_of(request: &abi::Request) -> Result<Call, String> {
    if (request.struct_size as usize) < size_of::<abi::Request>() {
        return Err("the request is shorter than this plugin's version of it".to_owned());
    }
    // SAFETY: the caller's contract, for each text.
    let (analysis, options, trial) = unsafe {
        (
            request.analysis.text().ok_or("the name is not UTF-8")?,
            request.options_json.text().ok_or("options not UTF-8")?,
            request.trial_json.text().ok_or("the trial is not UTF-8")?,
        )
    };
    let mut tables = Vec::new();
    for index in 0..request.n_tables as usize {
        // SAFETY: `tables` points at `n_tables` of them.
        tables.push(unsafe { table_from_arrow(&*request.tables.add(index)) }?);
    }
    Ok(Call {
        request: Request {
            analysis: analysis.to_owned(),
            options: serde_json::from_str(options)
                .map_err(|error| format!("the options cannot be read: {error}"))?,
            trial: serde_json::from_str(trial)
                .map_err(|error| format!("the trial cannot be read: {error}"))?,
            seed: request.seed,
        },
        tables,
    })
}

thread_local! {
    /// The program's callbacks while [`run`] is on this thread's stack.
    static CURRENT: Cell<*const abi::Host> = const { Cell::new(std::ptr::null()) };
}

/// Writes a remark to the job's log. Does nothing outside a call or on a thread of the plugin's own.
pub fn note(text: &str) {
    log(abi::NOTE, text);
}

/// Writes a doubt to the job's log. Does nothing outside a call or on a thread of the plugin's own.
pub fn warn(text: &str) {
    log(abi::WARNING, text);
}

/// Says how far the work is, from 0 to 1. Does nothing outside a call or on another thread.
pub fn progress(fraction: f64) {
    // SAFETY: as in `log`.
    if let Some(host) = unsafe { CURRENT.get().as_ref() } {
        // SAFETY: `ctx` belongs to these callbacks.
        unsafe { (host.progress)(host.ctx, fraction) };
    }
}

fn log(level: u32, text: &str) {
    // SAFETY: the pointer is null except while `run`, which borrows the struct, is on this stack.
    if let Some(host) = unsafe { CURRENT.get().as_ref() } {
        // SAFETY: `ctx` belongs to these callbacks; the text is copied before it returns.
        unsafe { (host.log)(host.ctx, level, abi::Bytes::new(text)) };
    }
}

/// Where the last panic of this library happened; its message alone does not say.
static LAST_PANIC: Mutex<Option<String>> = Mutex::new(None);

fn keep_panics() {
    static HOOK: Once = Once::new();
    HOOK.call_once(|| {
        let before = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |info| {
            let place = info.location().map(ToString::to_string);
            *LAST_PANIC.lock().unwrap_or_else(PoisonError::into_inner) = place;
            before(info);
        }));
    });
}

fn panic_text(payload: &(dyn std::any::Any + Send)) -> String {
    let message = payload
        .downcast_ref::<&str>()
        .map(ToString::to_string)
        .or_else(|| payload.downcast_ref::<String>().cloned())
        .unwrap_or_else(|| "a panic without a message".to_owned());
    let place = LAST_PANIC
        .lock()
        .unwrap_or_else(PoisonError::into_inner)
        .take();
    match place {
        Some(place) => format!("{message}, at {place}"),
        None => message,
    }
}
