//! What a worker takes away from itself before it loads a plugin.
//!
//! No more memory than allowed and no larger file than [`LARGEST_FILE`]; on Linux no writing outside its job folder, no TCP, no signals to
//! other programs. A kernel that cannot do that is told of in a note, and the work goes on: the
//! plugin was trusted, this only limits the harm of a mistake.

use std::path::Path;

/// The size in bytes at which a file of a worker ends, its log included.
pub const LARGEST_FILE: u64 = 256 << 20;

/// Limits this process for good. Must run before any thread is started. Gives notes for the user.
#[must_use]
pub fn confined(job_folder: &Path, memory: u64) -> Vec<String> {
    let mut notes = Vec::new();
    notes.extend(memory_limited(memory).err());
    notes.extend(writes_limited(job_folder).err());
    notes
}

#[cfg(unix)]
fn memory_limited(memory: u64) -> Result<(), String> {
    use rustix::process::{Resource, Rlimit, getrlimit, setrlimit};
    let limit = |bytes| Rlimit {
        current: Some(bytes),
        maximum: Some(bytes),
    };
    // A crash must not leave a core file the size of the program.
    let files = setrlimit(Resource::Core, limit(0))
        .and_then(|()| setrlimit(Resource::Fsize, limit(LARGEST_FILE)));
    // The machine's own limit may be lower already, and can only be lowered.
    let allowed = getrlimit(Resource::As).maximum.unwrap_or(u64::MAX);
    setrlimit(Resource::As, limit(memory.min(allowed)))
        .and(files)
        .map_err(|error| {
            format!("the memory or the files of plugins are not limited on this system ({error})")
        })
}

#[cfg(not(unix))]
fn memory_limited(_memory: u64) -> Result<(), String> {
    Err("the memory of plugins is not limited on this system".to_owned())
}

#[cfg(target_os = "linux")]
fn writes_limited(job_folder: &Path) -> Result<(), String> {
    use landlock::{
        ABI, Access, AccessFs, AccessNet, Ruleset, RulesetAttr, RulesetCreatedAttr, RulesetError,
        RulesetStatus, Scope, path_beneath_rules,
    };
    // Linux 6.12; an older kernel enforces the part it knows.
    let abi = ABI::V6;
    let writing = AccessFs::from_write(abi);
    let restrict = || -> Result<RulesetStatus, RulesetError> {
        Ok(Ruleset::default()
            .handle_access(writing)?
            .handle_access(AccessNet::from_all(abi))?
            .scope(Scope::from_all(abi))?
            .create()?
            .add_rules(path_beneath_rules([job_folder], writing))?
            .add_rules(path_beneath_rules(["/dev/null"], AccessFs::WriteFile))?
            .restrict_self()?
            .ruleset)
    };
    match restrict() {
        Ok(RulesetStatus::FullyEnforced) => Ok(()),
        Ok(RulesetStatus::PartiallyEnforced) => Err(
            "this kernel keeps plugins only in part from writing files and from the network"
                .to_owned(),
        ),
        Ok(RulesetStatus::NotEnforced) => Err(
            "this kernel does not keep plugins from writing files or from the network".to_owned(),
        ),
        Err(error) => Err(format!(
            "plugins are not kept from writing files or from the network ({error})"
        )),
    }
}

#[cfg(not(target_os = "linux"))]
fn writes_limited(_job_folder: &Path) -> Result<(), String> {
    Err("this system does not keep plugins from writing files or from the network".to_owned())
}
