//! Grades: what each can be folded into, its word in a published specification, and what buyers call it.

use super::Frame;
use crate::render::json::{GradeNoteView, NameView};
use maud::{Markup, html};

/// The title.
pub const GRADES: &str = "Grades";

pub fn grades(frame: &Frame, grades: &[GradeNoteView], buyers: &[NameView]) -> String {
    let in_use = || grades.iter().filter(|grade| !grade.retired);
    let body = html! {
        h1 { (GRADES) }
        p.small { "A grade may name a coarser one that it can be folded into: whether it earns a bin of its own is reckoned against that one." }
        @if in_use().next().is_none() { p { "There is no grade yet." } }
        @for grade in in_use() { (one(frame, grade, grades)) }
        form method="post" action="/grades" {
            (frame.seal())
            h3 { "Another grade" }
            label { "Name " input name="name" required; }
            button { "Add the grade" }
        }
        (words(frame, grades, buyers))
    };
    frame.around(body)
}

fn one(frame: &Frame, grade: &GradeNoteView, grades: &[GradeNoteView]) -> Markup {
    let others = grades.iter().filter(|other| !other.retired && other.grade != grade.grade);
    let gone = grade.fallback.as_ref().filter(|name| !grades.iter().any(|other| !other.retired && other.grade == **name));
    html! {
        form method="post" action="/grades/note" data-grade=(grade.grade) {
            (frame.seal())
            input type="hidden" name="grade" value=(grade.grade);
            input type="hidden" name="seen" value=(grade.version);
            h3 { (grade.grade) }
            label { "Folded into " select name="fallback" {
                option value="" selected[grade.fallback.is_none()] { "nothing coarser" }
                // A retired one can stay what it is, and is not chosen anew.
                @if let Some(gone) = gone { option value=(gone) selected { (gone) " (retired)" } }
                @for other in others { option selected[grade.fallback.as_ref() == Some(&other.grade)] { (other.grade) } }
            } }
            label { "Word of a published specification " input name="specification" value=(grade.specification.as_deref().unwrap_or("")); }
            button { "Keep it so" }
        }
    }
}

fn words(frame: &Frame, grades: &[GradeNoteView], buyers: &[NameView]) -> Markup {
    let known = || grades.iter().flat_map(|grade| grade.words.iter().map(move |word| (grade, word)));
    html! {
        section aria-labelledby="words" {
            h2 #words { "What buyers call them" }
            p.small { "One word of one buyer means one grade. A table of quotes may use it." }
            @if known().next().is_some() {
                table {
                    thead { tr { th { "Buyer" } th { "Word" } th { "Means" } th {} } }
                    tbody { @for (grade, word) in known() {
                        tr {
                            td { (word.buyer) } td { "“" (word.word) "”" } td { (grade.grade) }
                            td { form method="post" action="/words" {
                                (frame.seal())
                                input type="hidden" name="buyer" value=(word.buyer);
                                input type="hidden" name="word" value=(word.word);
                                button { "Take it back" }
                            } }
                        }
                    } }
                }
            }
            form method="post" action="/words" {
                (frame.seal())
                label { "Buyer " select name="buyer" { @for buyer in buyers.iter().filter(|buyer| !buyer.retired) { option { (buyer.name) } } } }
                label { "calls it " input name="word" required; }
                label { "and means " select name="grade" { @for grade in grades.iter().filter(|grade| !grade.retired) { option { (grade.grade) } } } }
                button { "Keep the word" }
            }
        }
    }
}
