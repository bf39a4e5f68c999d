//! A worker process: started with nothing it does not need, waited for, ended with all its children.

use std::fs::File;
use std::io;
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::time::{Duration, Instant};

use super::job::LOG;

/// How a worker ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum End {
    /// By itself or by a signal.
    Ended(ExitStatus),
    /// By us, for it took too long.
    TimedOut,
}

/// Starts the program as the worker of a job folder and waits until it has ended.
///
/// # Errors
/// The system's, where it cannot be started or waited for.
pub fn run(program: &Path, folder: &Path, wall: Duration) -> io::Result<End> {
    let log = File::create(folder.join(LOG))?;
    let mut command = Command::new(program);
    command
        .arg("worker")
        .arg(folder)
        .stdin(Stdio::null())
        .stdout(log.try_clone()?)
        .stderr(log)
        .current_dir(folder);
    environment(&mut command, folder);
    #[cfg(unix)]
    std::os::unix::process::CommandExt::process_group(&mut command, 0);
    let mut child = command.spawn()?;
    let end = wait(&mut child, wall);
    if end.is_err() {
        kill_group(&mut child);
    }
    end
}

/// A worker sees no variable of the caller: neither libraries put before others, nor a locale, a
/// time zone or a home with settings may reach a result.
fn environment(command: &mut Command, folder: &Path) {
    command.env_clear();
    // Without these two Windows loads no library and finds no folder for temporary files.
    for name in ["SystemRoot", "windir"] {
        if let Some(value) = std::env::var_os(name) {
            command.env(name, value);
        }
    }
    for name in ["TMPDIR", "TEMP", "TMP"] {
        command.env(name, folder);
    }
    command.env("TZ", "UTC");
    // Address space is limited: reading a table needs no thread for each core, and the allocator
    // shall not set 64 MiB aside for each thread. Neither touches a result.
    command.env("POLARS_MAX_THREADS", "1");
    command.env("MALLOC_ARENA_MAX", "2");
}

/// Waits; when the time is up ends the worker. Whatever it has started is ended with it in any case.
fn wait(child: &mut Child, wall: Duration) -> io::Result<End> {
    let begun = Instant::now();
    loop {
        if has_ended(child)? {
            kill_group(child);
            return child.wait().map(End::Ended);
        }
        let elapsed = begun.elapsed();
        if elapsed >= wall {
            kill_group(child);
            child.wait()?;
            return Ok(End::TimedOut);
        }
        // A look costs little beside a twentieth of the time waited so far.
        let pause = (elapsed / 20).clamp(Duration::from_micros(200), Duration::from_millis(10));
        std::thread::sleep(pause.min(wall - elapsed));
    }
}

/// Looks without reaping: until it is reaped its number, which is that of its group, stays taken.
#[cfg(unix)]
fn has_ended(child: &mut Child) -> io::Result<bool> {
    use rustix::process::{WaitId, WaitIdOptions, waitid};
    let options = WaitIdOptions::EXITED | WaitIdOptions::NOHANG | WaitIdOptions::NOWAIT;
    Ok(waitid(WaitId::Pid(number(child)?), options)?.is_some())
}

#[cfg(unix)]
fn number(child: &Child) -> io::Result<rustix::process::Pid> {
    i32::try_from(child.id())
        .ok()
        .and_then(rustix::process::Pid::from_raw)
        .ok_or_else(|| io::Error::other("a process without a number"))
}

#[cfg(unix)]
fn kill_group(child: &mut Child) {
    if let Ok(number) = number(child) {
        // Fails only where nothing of the group is left.
        let _ = rustix::process::kill_process_group(number, rustix::process::Signal::KILL);
    }
}

#[cfg(not(unix))]
fn has_ended(child: &mut Child) -> io::Result<bool> {
    Ok(child.try_wait()?.is_some())
}

#[cfg(not(unix))]
fn kill_group(child: &mut Child) {
    // Fails only where it has ended already.
    let _ = child.kill();
}

/// The signal that ended a process, in words; `None` where none did.
#[cfg(unix)]
#[must_use]
pub fn signal(status: ExitStatus) -> Option<String> {
    use rustix::process::Signal;
    let number = std::os::unix::process::ExitStatusExt::signal(&status)?;
    let known = [
        (Signal::SEGV, "segmentation fault, SIGSEGV"),
        (Signal::ABORT, "aborted, SIGABRT"),
        (Signal::BUS, "bus error, SIGBUS"),
        (Signal::ILL, "illegal instruction, SIGILL"),
        (Signal::FPE, "arithmetic fault, SIGFPE"),
        (Signal::XFSZ, "wrote a file larger than 256 MiB, SIGXFSZ"),
        (
            Signal::KILL,
            "killed from outside, SIGKILL, perhaps for lack of memory",
        ),
    ];
    Some(
        known
            .iter()
            .find(|(signal, _)| signal.as_raw() == number)
            .map_or_else(
                || format!("signal {number}"),
                |(_, words)| (*words).to_owned(),
            ),
    )
}

/// The signal that ended a process: there are none here.
#[cfg(not(unix))]
#[must_use]
pub fn signal(_status: ExitStatus) -> Option<String> {
    None
}
