//! A disk that fails: a library in front of the system's own calls, for a program that is started with it.

use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::LazyLock;

/// Stands in for the calls by which the standard library writes a plain file, waits for it, makes, renames and removes
/// one. It counts them; from the wanted one on they fail, or the program is killed in the middle of that one.
const FAILING_CALLS: &str = r#"
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>
static long calls = 0;
static int fails(void) {
    const char *file = getenv("DISK_FAILS_WITH"), *at = getenv("DISK_FAILS_AT"), *how = getenv("DISK_FAILS_BY");
    int is_now = file ? access(file, F_OK) == 0 : at && ++calls >= atol(at);
    if (!is_now) return 0;
    if (how && !strcmp(how, "kill")) kill(getpid(), SIGKILL);
    errno = how && !strcmp(how, "full") ? ENOSPC : EIO;
    return 1;
}
static int is_plain(int fd) {
    struct stat about;
    return fd > 2 && fstat(fd, &about) == 0 && S_ISREG(about.st_mode);
}
ssize_t write(int fd, const void *bytes, size_t n) {
    ssize_t (*real)(int, const void *, size_t) = dlsym(RTLD_NEXT, "write");
    if (!is_plain(fd)) return real(fd, bytes, n);
    const char *at = getenv("DISK_FAILS_AT");
    // The one at which it begins gets half of its bytes onto the disk first.
    if (at && calls + 1 == atol(at) && n > 1) real(fd, bytes, n / 2);
    return fails() ? -1 : real(fd, bytes, n);
}
int fsync(int fd) {
    int (*real)(int) = dlsym(RTLD_NEXT, "fsync");
    return fails() ? -1 : real(fd);
}
int fdatasync(int fd) {
    int (*real)(int) = dlsym(RTLD_NEXT, "fdatasync");
    return fails() ? -1 : real(fd);
}
int mkdir(const char *path, mode_t mode) {
    int (*real)(const char *, mode_t) = dlsym(RTLD_NEXT, "mkdir");
    return fails() ? -1 : real(path, mode);
}
int rename(const char *from, const char *to) {
    int (*real)(const char *, const char *) = dlsym(RTLD_NEXT, "rename");
    return fails() ? -1 : real(from, to);
}
int unlink(const char *path) {
    int (*real)(const char *) = dlsym(RTLD_NEXT, "unlink");
    return fails() ? -1 : real(path);
}
"#;

/// How a disk fails.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Failing {
    /// It is full.
    Full,
    /// It is broken.
    Broken,
    /// Before it fails the program is killed.
    Kill,
}

/// Has a program's disk fail from this call on, the first being 1.
pub(crate) fn failing_at(command: &mut Command, call: usize, how: Failing) {
    let how = match how {
        Failing::Full => "full",
        Failing::Broken => "broken",
        Failing::Kill => "kill",
    };
    command.env("LD_PRELOAD", library()).env("DISK_FAILS_AT", call.to_string()).env("DISK_FAILS_BY", how);
}

/// Has a program's disk fail as long as this file is there.
pub(crate) fn failing_with(command: &mut Command, file: &Path) {
    command.env("LD_PRELOAD", library()).env("DISK_FAILS_WITH", file);
}

/// Returns the library, which is built once.
fn library() -> PathBuf {
    static FOLDER: LazyLock<tempfile::TempDir> = LazyLock::new(|| {
        let folder = tempfile::tempdir().expect("a folder");
        let at = |name: &str| folder.path().join(name);
        std::fs::write(at("calls.c"), FAILING_CALLS).expect("a file");
        let built = Command::new("cc")
            .args(["-shared", "-fPIC", "-o"])
            .args([at("calls.so"), at("calls.c")])
            .arg("-ldl")
            .status();
        assert!(built.expect("a compiler").success());
        folder
    });
    FOLDER.path().join("calls.so")
}
