mod disguise;
pub(crate) use disguise::{beginning, disguise};
