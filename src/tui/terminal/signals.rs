//! Signals, noted by their handlers and read by the loop. The handlers do nothing but note.

use signal_hook::consts::{SIGCONT, SIGHUP, SIGINT, SIGQUIT, SIGTERM, SIGTSTP, SIGWINCH, SIGXFSZ};
use signal_hook::{flag, low_level};
use std::io;
use std::os::unix::net::UnixStream;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// The signals that are listened for.
const HEARD: &[i32] = &[SIGHUP, SIGTERM, SIGINT, SIGQUIT, SIGTSTP, SIGCONT, SIGWINCH];

/// The signals that came since they were last asked for.
#[derive(Debug)]
pub struct Signals(Vec<(i32, Arc<AtomicBool>)>);

/// What a signal asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SignalRequest {
    /// End now, with this signal's exit code.
    End(i32),
    /// Stop until continued.
    Stop,
    /// The terminal may have been another's: draw anew.
    Again,
    /// The size changed.
    Size,
}

impl Signals {
    /// Begins to listen; each signal also writes a byte to `wake`, so that a waiting loop wakes.
    ///
    /// # Errors
    /// Whatever the system says.
    pub fn listen(wake: &UnixStream) -> io::Result<Self> {
        let mut heard = Vec::new();
        for signal in HEARD {
            let came = Arc::new(AtomicBool::new(false));
            flag::register(*signal, Arc::clone(&came))?;
            low_level::pipe::register(*signal, wake.try_clone()?)?;
            heard.push((*signal, came));
        }
        // A journal at the limit of file size is then a failed write, told in words, not the end.
        flag::register(SIGXFSZ, Arc::new(AtomicBool::new(false)))?;
        Ok(Self(heard))
    }

    /// The next thing asked for, endings first.
    #[must_use]
    pub fn next(&self) -> Option<SignalRequest> {
        let came = |(signal, flag): &&(i32, Arc<AtomicBool>)| {
            let _ = signal;
            flag.swap(false, Ordering::SeqCst)
        };
        let (signal, _) = self.0.iter().find(came)?;
        Some(match *signal {
            SIGTSTP => SignalRequest::Stop,
            SIGCONT => SignalRequest::Again,
            SIGWINCH => SignalRequest::Size,
            ending => SignalRequest::End(ending),
        })
    }
}

/// Stops this process as the terminal's stop key would, until it is continued.
pub fn stop() {
    // If it cannot be stopped it simply goes on.
    let _ = low_level::emulate_default_handler(SIGTSTP);
}
