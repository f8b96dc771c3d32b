//! Where the system limits how large a file may become.

/// From here on, writing beyond the system's limit on a file's size (`ulimit -f`) is an error of that write, as on a full disk; unasked, the system
/// ends the whole program and leaves what it had begun.
pub fn outlive_size_limit() {
    #[cfg(unix)]
    {
        // The flag is never looked at: the write that failed says it. Where no handler can be set, all is as before.
        let _ =
            signal_hook::flag::register(signal_hook::consts::SIGXFSZ, std::sync::Arc::default());
    }
}
