//! The definitions that come with the program.

/// Returns the id and the text of every definition of the folder `importers`, alphabetically.
#[must_use]
pub fn shipped() -> &'static [(&'static str, &'static str)] {
    SHIPPED
}

include!(concat!(env!("OUT_DIR"), "/shipped.rs"));

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Definition;

    #[test]
    fn every_shipped_definition_is_sound() {
        assert!(!shipped().is_empty(), "the folder importers holds no definition");
        for (id, text) in shipped() {
            if let Err(errors) = Definition::parse(id, text) {
                panic!("{}", errors.render(&format!("importers/{id}/importer.toml")));
            }
        }
    }

    #[test]
    fn they_stand_in_order() {
        assert!(shipped().is_sorted_by_key(|(id, _)| *id));
    }
}
