//! What every page has around it.

use maud::{DOCTYPE, Markup, html};

pub const STYLE: &str = include_str!("style.css");
/// Where the style is served.
pub const STYLE_PATH: &str = "/style.css";
pub const LIVE_SCRIPT: &str = include_str!("live.js");

/// The pages of every day, by path and title: one row of finger-sized links.
const PAGES: &[(&str, &str)] = &[
    ("/", "Bench"),
    ("/bins", "Bins and prices"),
    ("/quotes", super::PRICES),
    ("/feeds", super::FEEDS),
    ("/reports/yard-run", "Before the trip"),
    ("/reports/hour", super::HOUR),
];

/// The others, which unfold.
const MORE: &[(&str, &str)] = &[
    ("/reports/plan", super::PLAN),
    ("/reports/when-to-go", super::WHEN),
    ("/load-sheet", super::LOAD_SHEET),
    ("/trips", super::TRIPS),
    ("/tickets", super::TICKETS),
    ("/grades", super::GRADES),
    ("/reports/prices", super::PRICE_HISTORY),
    ("/reports/kerb", super::KERB),
    ("/stock-round", super::ROUND),
    ("/reports/places", super::PLACES),
    ("/reports/wire", super::WIRE),
    ("/reports/buyers", super::BUYERS),
    ("/reports/year", super::YEAR),
    ("/check-weights", "Check weights"),
    ("/density", "Which metal"),
];

/// The frame of a page.
pub struct Frame<'a> {
    pub title: &'a str,
    /// Sent back with every form: a page of another site cannot know it.
    pub token: &'a str,
    /// The idempotency key of the one write that a form of this page makes: a dirty tablet taps twice.
    pub key: &'a str,
    /// A word about what was just done, or refused.
    pub said: Option<&'a str>,
    pub live: bool,
}

impl Frame<'_> {
    pub fn around(&self, body: Markup) -> String {
        let page = html! {
            (DOCTYPE)
            html lang="en" {
                head {
                    meta charset="utf-8";
                    meta name="color-scheme" content="light dark";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    title { (self.title) " · Bismar" }
                    link rel="stylesheet" href=(STYLE_PATH);
                    @if self.live { script defer src="/live.js" {} }
                }
                body {
                    nav aria-label="Pages" {
                        @for (path, name) in PAGES { (self.link(path, name)) }
                        details {
                            @let here = MORE.iter().find(|(_, name)| *name == self.title);
                            summary.here[here.is_some()] { (here.map_or("More", |(_, name)| name)) }
                            @for (path, name) in MORE { (self.link(path, name)) }
                        }
                    }
                    @if let Some(said) = self.said { p.said role="status" { (said) } }
                    main { (body) }
                    footer {
                        p { "Not legal for trade: these weights are for your own records, and the buyer's inspected scale settles the price." }
                    }
                }
            }
        };
        page.into_string()
    }

    fn link(&self, path: &str, name: &str) -> Markup {
        html! { a href=(path) aria-current=[(name == self.title).then_some("page")] { (name) } }
    }

    /// The hidden field that every form carries.
    pub fn seal(&self) -> Markup {
        html! {
            input type="hidden" name="token" value=(self.token);
            input type="hidden" name="key" value=(self.key);
        }
    }
}
