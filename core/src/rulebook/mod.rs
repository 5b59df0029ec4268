//! stub
#[derive(
    Clone,
    Copy,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Debug,
    Default,
    serde::Serialize,
    serde::Deserialize,
)]
#[serde(rename_all = "snake_case")]
#[allow(missing_docs)]
pub enum SiteKind {
    #[default]
    ResidenceIndividual,
    ResidenceCommon,
    CommunityGarden,
    SchoolPark,
    Farm,
}
#[derive(Clone, PartialEq, Debug, serde::Serialize, serde::Deserialize)]
#[allow(missing_docs)]
pub struct Rulebook {
    pub id: String,
}
/// stub
#[must_use]
pub fn built_in_book(_id: &str) -> Option<&'static Rulebook> {
    None
}
