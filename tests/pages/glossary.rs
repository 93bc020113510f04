//! `/glossary`: every figure of the summary is found where pages link to it.

use gylebook::science::{bibliography::BIBLIOGRAPHY, glossary};

use crate::book::TestBook;

#[tokio::test]
async fn every_figure_is_found_by_its_key_and_every_source_by_its_tag() {
    let book = TestBook::open().await;
    let page = book.get("/glossary").await;
    for figure in glossary::figures() {
        for key in figure.keys {
            assert!(page.has(&format!("[id='{key}']")), "{key}");
        }
    }
    for name in ["original_sg", "bitterness_ibu", "standard_chill_min", "conductance_w_per_k"] {
        assert!(page.has(&format!("[id='{name}']")), "{name} alone");
    }
    for source in BIBLIOGRAPHY {
        assert!(page.has(&format!(".sources [id='source-{}']", source.tag)), "{}", source.tag);
    }
    let entries = glossary::figures().count();
    assert_eq!(page.texts(".entry h2").len(), entries);
    assert_eq!(page.texts(".contents a").len(), entries + 1);
    assert_eq!(page.texts(".entry__estimate").len(), glossary::figures().filter(|figure| figure.is_estimate).count());
}

#[tokio::test]
async fn no_id_stands_twice_and_no_link_leads_nowhere() {
    let book = TestBook::open().await;
    let page = book.get("/glossary").await;
    let found = |attribute: &str| -> Vec<&str> {
        page.text.split(&format!(" {attribute}=\"")).skip(1).filter_map(|rest| rest.split('"').next()).collect()
    };
    let ids = found("id");
    let mut once = ids.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), ids.len());
    for href in found("href").iter().filter_map(|href| href.strip_prefix('#')) {
        assert!(ids.contains(&href), "#{href}");
    }
}
