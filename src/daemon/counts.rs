//! What the daemon counts, as Prometheus metrics.

use crate::measure::Span;
use prometheus_client::encoding::EncodeLabelSet;
use prometheus_client::encoding::text::encode;
use prometheus_client::metrics::counter::Counter;
use prometheus_client::metrics::family::Family;
use prometheus_client::metrics::gauge::Gauge;
use prometheus_client::metrics::histogram::{Histogram, exponential_buckets};
use prometheus_client::registry::Registry;

#[derive(Debug, Clone, Hash, PartialEq, Eq, EncodeLabelSet)]
pub struct OfBench {
    pub bench: u16,
}

#[derive(Debug, Clone, Hash, PartialEq, Eq, EncodeLabelSet)]
pub struct OfKeys {
    pub bench: u16,
    /// Counted from 1, in the order of the configuration.
    pub keys: u16,
}

/// Every counter, cheap to clone.
#[derive(Clone)]
pub struct Counts {
    pub readings: Family<OfBench, Counter>,
    pub refused_frames: Family<OfBench, Counter>,
    pub lost_bytes: Family<OfBench, Counter>,
    pub scale_present: Family<OfBench, Gauge>,
    pub keys_present: Family<OfKeys, Gauge>,
    pub presses: Family<OfKeys, Counter>,
    pub refused_presses: Family<OfKeys, Counter>,
    pub events: Counter,
    pub append_failures: Counter,
    append_seconds: Histogram,
    pub waiting_events: Gauge,
    registry: std::sync::Arc<Registry>,
}

impl Default for Counts {
    fn default() -> Counts {
        let (readings, refused_frames, lost_bytes) = (Family::default(), Family::default(), Family::default());
        let (scale_present, events, append_failures) = (Family::default(), Counter::default(), Counter::default());
        let (keys_present, presses, refused_presses) = (Family::default(), Family::default(), Family::default());
        // From a tenth of a millisecond, a good disk, to a quarter of a minute, a card that is dying.
        let append_seconds = Histogram::new(exponential_buckets(0.0001, 2.0, 18));
        let waiting_events = Gauge::default();
        let mut registry = Registry::with_prefix("bismar");
        registry.register("readings", "Readings decoded", readings.clone());
        registry.register("refused_frames", "Frames that were refused", refused_frames.clone());
        registry.register("lost_bytes", "Bytes lost because the daemon could not keep up", lost_bytes.clone());
        registry.register("scale_present", "1 while the scale is there and sends", scale_present.clone());
        registry.register("keys_present", "1 while a scanner, pad or pedal is there", keys_present.clone());
        registry.register("presses", "Cards, numbers and keys that were done", presses.clone());
        registry.register("refused_presses", "Cards, numbers and keys that were not done", refused_presses.clone());
        registry.register("events", "Events made durable", events.clone());
        registry.register("append_failures", "Appends that the disk refused", append_failures.clone());
        registry.register("append_seconds", "Time of one append, fdatasync and all", append_seconds.clone());
        registry.register("waiting_events", "Events that wait for the disk", waiting_events.clone());
        Counts {
            readings,
            refused_frames,
            lost_bytes,
            scale_present,
            keys_present,
            presses,
            refused_presses,
            events,
            append_failures,
            append_seconds,
            waiting_events,
            registry: std::sync::Arc::new(registry),
        }
    }
}

impl Counts {
    /// One append took so long.
    pub fn appended(&self, span: Span) {
        self.append_seconds.observe(span.0 as f64 / 1e9);
    }

    pub fn text(&self) -> String {
        let mut text = String::new();
        // Writing to a string does not fail.
        _ = encode(&mut text, &self.registry);
        text
    }
}
