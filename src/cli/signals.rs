//! Ending on Ctrl-C or on a polite kill.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use tokio::signal::unix::{SignalKind, signal};

/// A flag that is set when the user or the system asks the program to end. The handlers are in place on return.
pub fn stop_flag() -> std::io::Result<Arc<AtomicBool>> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    let stop = Arc::new(AtomicBool::new(false));
    let (mut interrupt, mut terminate) = {
        let _inside = runtime.enter();
        (signal(SignalKind::interrupt())?, signal(SignalKind::terminate())?)
    };
    let flag = Arc::clone(&stop);
    std::thread::Builder::new().name("signals".into()).spawn(move || {
        runtime.block_on(async {
            tokio::select! {
                _ = interrupt.recv() => {}
                _ = terminate.recv() => {}
            }
        });
        flag.store(true, Ordering::Relaxed);
    })?;
    Ok(stop)
}
