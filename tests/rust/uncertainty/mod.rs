//! Inputs, distributions, correlation, budgets, statistics of readings, conformity.

mod budget_text;
mod conformity;
mod distributions;
mod joint;
mod propagation;
mod regression;
mod second_opinion;
mod second_order;
mod type_a;
