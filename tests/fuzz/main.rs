//! Hostile input: mutates the files of the demonstration and asks of every answer more than that
//! nothing crashed. A plain loop, on the stable toolchain.
//!
//! ```sh
//! cargo run --release --example fuzz -- --seconds 60
//! cargo run --release --example fuzz -- --executions 20000000 --only site,record
//! ```
//!
//! What is accepted must have finite results, print, go into a record, come back from it and
//! reproduce; a record whose results were changed must not. What is refused must say why in a short
//! line without control characters. The first input that breaks a promise is printed, and the exit
//! status is 1.

#![allow(clippy::disallowed_types, reason = "no test forks")]

mod mutation;
mod oracles;
mod seeds;
mod targets;
#[cfg(feature = "workbook")]
mod workbook;

use mutation::Source;
use std::any::Any;
use std::cell::RefCell;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::{Duration, Instant};
use targets::{Answer, Target};

/// What one execution may take at most; nothing here needs a hundredth of it.
const LONGEST: Duration = Duration::from_secs(20);

/// What was asked for on the command line.
struct Options {
    seconds: Option<u64>,
    executions: Option<u64>,
    seed: u64,
    threads: u64,
    only: Vec<String>,
}

impl Options {
    fn from_arguments() -> Result<Options, String> {
        let mut options = Options {
            seconds: None,
            executions: None,
            seed: 1,
            threads: 2,
            only: Vec::new(),
        };
        let mut arguments = std::env::args().skip(1);
        while let Some(name) = arguments.next() {
            let value = arguments.next().ok_or(format!("{name} needs a value"))?;
            let number = || {
                value
                    .parse()
                    .map_err(|_| format!("{name}: {value} is no number"))
            };
            match name.as_str() {
                "--seconds" => options.seconds = Some(number()?),
                "--executions" => options.executions = Some(number()?),
                "--seed" => options.seed = number()?,
                "--threads" => options.threads = number()?,
                "--only" => options.only = value.split(',').map(str::to_owned).collect(),
                _ => return Err(format!("unknown option {name}")),
            }
        }
        Ok(options)
    }
}

/// How often a target was executed, and what came of it.
#[derive(Default)]
struct Count {
    executions: AtomicU64,
    accepted: AtomicU64,
    slowest_us: AtomicU64,
}

/// A promise that was broken.
struct Broken {
    target: &'static str,
    input: String,
    how: String,
}

thread_local! {
    static PANIC: RefCell<String> = const { RefCell::new(String::new()) };
}

fn main() -> ExitCode {
    let options = match Options::from_arguments() {
        Ok(options) => options,
        Err(message) => {
            eprintln!("fuzz: {message}");
            return ExitCode::from(2);
        }
    };
    let targets: Vec<Target> = targets::all()
        .into_iter()
        .filter(|target| options.only.is_empty() || options.only.iter().any(|n| n == target.name))
        .collect();
    if targets.is_empty() {
        eprintln!("fuzz: no such target");
        return ExitCode::from(2);
    }
    // only what targets do is to be silent
    std::panic::set_hook(Box::new(|info| {
        PANIC.with(|text| *text.borrow_mut() = info.to_string());
    }));
    let counts: Vec<Count> = targets.iter().map(|_| Count::default()).collect();
    let broken = Mutex::new(None);
    let stop = AtomicBool::new(false);
    let begin = Instant::now();
    std::thread::scope(|scope| {
        for thread in 0..options.threads {
            let (options, targets, counts) = (&options, &targets, &counts);
            let (broken, stop) = (&broken, &stop);
            scope.spawn(move || {
                let mut source = Source::new(options.seed.wrapping_mul(1000).wrapping_add(thread));
                let share = options.executions.map(|all| all / options.threads);
                let mut done = 0;
                while !stop.load(Ordering::Relaxed)
                    && share.is_none_or(|share| done < share)
                    && options
                        .seconds
                        .is_none_or(|seconds| begin.elapsed().as_secs() < seconds)
                {
                    let at = chosen(targets, &mut source);
                    if let Some(found) = execute(&targets[at], &counts[at], &mut source) {
                        broken
                            .lock()
                            .expect("no thread panics here")
                            .get_or_insert(found);
                        stop.store(true, Ordering::Relaxed);
                    }
                    done += 1;
                }
            });
        }
    });
    println!("{}", table(&targets, &counts, begin.elapsed()));
    match broken.into_inner().expect("no thread panics here") {
        None => ExitCode::SUCCESS,
        Some(found) => {
            println!(
                "BROKEN, {}: {}\ninput:",
                found.target,
                found.how.escape_debug()
            );
            for line in found.input.split('\n') {
                println!("{}", line.escape_debug());
            }
            ExitCode::FAILURE
        }
    }
}

/// A target, as often as its weight says.
fn chosen(targets: &[Target], source: &mut Source) -> usize {
    let all = targets.iter().map(|target| target.weight).sum();
    let mut at = source.below(all);
    for (i, target) in targets.iter().enumerate() {
        if at < target.weight {
            return i;
        }
        at -= target.weight;
    }
    0
}

/// One execution; the promise that it broke, if any.
fn execute(target: &Target, count: &Count, source: &mut Source) -> Option<Broken> {
    let input = (target.input)(source);
    let begin = Instant::now();
    let answer = catch_unwind(AssertUnwindSafe(|| (target.judge)(&input)));
    let time = begin.elapsed();
    let how = match answer {
        Err(panic) => Some(format!("panic: {}", words_of(panic.as_ref()))),
        Ok(Err(how)) => Some(how),
        Ok(Ok(_)) if time > LONGEST => Some(format!("it took {} s", time.as_secs())),
        Ok(Ok(answer)) => {
            count
                .accepted
                .fetch_add(u64::from(answer == Answer::Accepted), Ordering::Relaxed);
            None
        }
    };
    count.executions.fetch_add(1, Ordering::Relaxed);
    let us = u64::try_from(time.as_micros()).unwrap_or(u64::MAX);
    count.slowest_us.fetch_max(us, Ordering::Relaxed);
    how.map(|how| Broken {
        target: target.name,
        input: input.text,
        how,
    })
}

fn words_of(panic: &(dyn Any + Send)) -> String {
    let said = PANIC.with(|text| text.borrow().clone());
    let payload = panic.downcast_ref::<&str>().map(|text| (*text).to_owned());
    if said.is_empty() {
        payload.unwrap_or_default()
    } else {
        said
    }
}

fn table(targets: &[Target], counts: &[Count], time: Duration) -> String {
    let mut lines = vec![
        "| input | executions | accepted | slowest |".to_owned(),
        "|---|---:|---:|---:|".to_owned(),
    ];
    let mut sum = 0;
    for (target, count) in targets.iter().zip(counts) {
        let executions = count.executions.load(Ordering::Relaxed);
        let accepted = count.accepted.load(Ordering::Relaxed);
        let share = 100.0 * accepted as f64 / executions.max(1) as f64;
        let slowest = count.slowest_us.load(Ordering::Relaxed) as f64 / 1000.0;
        let name = target.name;
        lines.push(format!(
            "| {name} | {executions} | {share:.1} % | {slowest:.0} ms |"
        ));
        sum += executions;
    }
    lines.push(format!("\n{sum} executions in {} s", time.as_secs()));
    lines.join("\n")
}
