//! Published uncertainties of a flow facility.

use super::{WATER, site, verified};
use crate::support::tables::against;
use crate::support::{json, number};

/// Y. Terao and M. Takamoto, Uncertainty analysis of large water flow calibration facility, 1999
/// International Symposium on Fluid Flow Measurement (abstract): relative standard uncertainties of
/// a weighing facility and the expanded uncertainty of its flow.
#[test]
fn a_national_weighing_facility() {
    let mut compared = against(
        "Y. Terao and M. Takamoto 1999 (abstract)",
        "expanded uncertainty of a weighing facility, %",
    );
    let published = json("published/weighing_facility.json");
    let of = |key: &str| number(&published[key]);
    let (mass, duration) = (of("mass_percent"), of("duration_percent"));
    let (buoyancy, density) = (of("buoyancy_percent"), of("density_percent"));
    // the uncertainty of the air density that makes the published one of the buoyancy
    let air = 1e-2 * buoyancy / (1.0 / 998.7 - 1.0 / 8000.0);
    let liquid = WATER.replace(
        "density_formulation = \"1\"",
        &format!(
            "density_formulation = {{ value = \"1\", standard_uncertainty = \"{density} %\" }}"
        ),
    );
    let text = format!(
        "[verification]\nname = \"v\"\nquestion = \"agreement\"\n[reference]\nkind = \"weighing\"\nstart = \"flying\"\n\
         air_density = {{ value = \"1.2 kg/m3\", standard_uncertainty = \"{air} kg/m3\" }}\n\
         diverter_error = \"0 s\"\n[[run]]\npoint = \"p\"\nreadings = \"60\"\n\
         mass = {{ value = \"50 t\", standard_uncertainty = \"{mass} %\" }}\n\
         duration = {{ value = \"3000 s\", standard_uncertainty = \"{duration} %\" }}\n"
    );
    let result = verified(&site(&liquid, ""), &text);
    let flow = result.runs[0].reference_flow;
    let expanded = 2.0 * 100.0 * flow.standard_uncertainty / flow.value;
    compared.printed(
        expanded,
        of("expanded_percent"),
        0.001,
        "expanded uncertainty, k = 2",
    );
}
