//! `paneloft serve`, `backup` and `restore`: the workshop app and its saved work.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::{Path, PathBuf};

use clap::Args;
use store::Store;
use web::{DEMO_ACCOUNT, Settings};

use crate::outcome::{Answer, Outcome};
use crate::say;

/// How the app is served.
#[derive(Args)]
pub(crate) struct ServeArgs {
    /// Folder for the workshop's data; made where there is none.
    #[arg(long, value_name = "DIR", default_value = "paneloft-data")]
    data: PathBuf,
    /// Port to listen at; 0 takes any that is free.
    #[arg(long, value_name = "N", default_value_t = 8142)]
    port: u16,
    /// Address to listen at. Anything but this machine's own needs a proxy with TLS before it.
    #[arg(long, value_name = "ADDRESS", default_value_t = IpAddr::V4(Ipv4Addr::LOCALHOST))]
    address: IpAddr,
    /// People reach it by HTTPS, through a proxy: cookies then stay off plain HTTP.
    #[arg(long)]
    secure: bool,
    /// Fill an empty data folder with the demo's invented orders.
    #[arg(long)]
    demo: bool,
}

/// Serves the app until interrupted.
pub(crate) fn serve(args: ServeArgs) -> Answer {
    let demo = args.demo;
    let data = args.data.clone();
    let settings = Settings {
        data: args.data,
        address: SocketAddr::new(args.address, args.port),
        secure: args.secure,
        demo,
    };
    let ready = move |address: SocketAddr| {
        say::line(&say::styled(say::STRONG, &format!("Paneloft is at http://{address}")));
        if demo {
            let (name, password) = DEMO_ACCOUNT;
            say::line(&format!("Sign in as {name} with the password `{password}` (demo only)."));
        }
        say::line(&format!("Data is kept in {}. Stop with Ctrl-C.", data.display()));
    };
    // Lines of JSON on standard error, which a service manager keeps; a second start in one process
    // would keep the first.
    let _ = tracing_subscriber::fmt().json().with_writer(std::io::stderr).try_init();
    runtime()?.block_on(web::serve(settings, ready, stopped())).map_err(|e| e.to_string())?;
    Ok(Outcome::Settled)
}

/// Writes a checked copy of the workshop's database, while it is in use or not.
pub(crate) fn backup(data: &Path, file: &Path) -> Answer {
    let found = data.join("paneloft.db");
    if !found.is_file() {
        return Err(format!(
            "{} holds no workshop's data; choose its folder with --data",
            data.display()
        ));
    }
    runtime()?
        .block_on(async {
            let store = Store::open(data).await?;
            store.back_up(file).await?;
            store.close().await;
            Ok::<_, store::StoreError>(())
        })
        .map_err(|error| error.to_string())?;
    say::line(&format!("A checked copy is in {}.", file.display()));
    Ok(Outcome::Settled)
}

/// Puts a backup in place in a folder that holds no data yet.
pub(crate) fn restore(file: &Path, data: &Path) -> Answer {
    runtime()?.block_on(Store::restore(file, data)).map_err(|error| error.to_string())?;
    say::line(&format!("Restored to {}.", data.display()));
    Ok(Outcome::Settled)
}

fn runtime() -> Result<tokio::runtime::Runtime, String> {
    tokio::runtime::Runtime::new().map_err(|error| format!("the system gives no threads: {error}"))
}

/// Done when the process is asked to stop.
async fn stopped() {
    let interrupt = tokio::signal::ctrl_c();
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminate) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = interrupt => {}
                _ = terminate.recv() => {}
            }
            return;
        }
    }
    let _ = interrupt.await;
}
