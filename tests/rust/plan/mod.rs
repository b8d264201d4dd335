//! Planning: expected uncertainty, alternatives, the feasible window, the way to a target.

mod alternatives;
mod comparison;
mod expected;
mod target;
mod window;

use crate::support::plain_demo;
use flowdoubt::evaluate::Channel;
use flowdoubt::plan::{Conditions, Expected, Plan, PlanRequest, Repeatability};
use flowdoubt::site::Site;

pub fn demo_site() -> Site {
    Site::from_toml(&plain_demo(), "site.toml").expect("a site")
}

pub fn at(volume_flow: f64, temperature: impl Into<Option<f64>>) -> Conditions {
    Conditions {
        volume_flow,
        temperature: temperature.into(),
    }
}

#[track_caller]
pub fn expected(site: &str, conditions: Conditions) -> Expected {
    let site = Site::from_toml(site, "site.toml").expect("a site");
    let expected = site.expected(&conditions, &Repeatability::default());
    expected.unwrap_or_else(|e| panic!("{e}"))
}

pub fn mean(expected: &Expected, channel: Channel) -> f64 {
    let planned = expected.planned().iter().find(|p| p.channel == channel);
    planned.expect("a reading").mean
}

/// The demonstration site at 8 degC.
pub fn demo_plan(request: PlanRequest) -> Plan {
    let request = PlanRequest {
        temperatures: vec![281.15],
        ..request
    };
    demo_site().plan(&request).expect("a plan")
}
