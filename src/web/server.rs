//! Connections: so many at once, none for longer than it takes, a clean stop.

use std::future::Future;
use std::sync::Arc;
use std::time::Duration;

use axum::Router;
use hyper::server::conn::http1;
use hyper_util::rt::{TokioIo, TokioTimer};
use hyper_util::service::TowerToHyperService;
use tokio::net::{TcpListener, TcpStream};
use tokio::sync::{Semaphore, watch};

/// So many connections are served at once; a browser opens six.
const MOST_CONNECTIONS: usize = 512;
/// The head of a request, or the next one on an open connection, must come within this.
const HEAD_WITHIN: Duration = Duration::from_secs(10);
/// No connection lives longer: whoever reads or writes too slowly for an answer within it is let go. A browser opens another.
const LONGEST_CONNECTION: Duration = Duration::from_secs(120);
/// The longest head of a request, in bytes.
const MOST_HEAD_BYTES: usize = 48 * 1024;
/// Answers that are being given when the program is stopped may take so long to finish.
const FINISH_WITHIN: Duration = Duration::from_secs(2);

/// Serves until `stop` is done.
pub(super) async fn serve(listener: TcpListener, router: Router, stop: impl Future<Output = ()>) {
    let room = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    let (stopping, stopped) = watch::channel(());
    let mut stop = std::pin::pin!(stop);
    loop {
        let accepted = async {
            let permit = Arc::clone(&room).acquire_owned().await;
            (permit, listener.accept().await)
        };
        let (permit, stream) = tokio::select! {
            () = &mut stop => break,
            (permit, accepted) = accepted => match (permit, accepted) {
                (Ok(permit), Ok((stream, _))) => (permit, stream),
                // A connection that was given up again, or too many files open: others may still come.
                _ => {
                    tokio::time::sleep(Duration::from_millis(20)).await;
                    continue;
                }
            },
        };
        let (router, stopped) = (router.clone(), stopped.clone());
        tokio::spawn(async move {
            connection(stream, router, stopped).await;
            drop(permit);
        });
    }
    drop(stopped);
    drop(stopping);
    // All of the room is free once every connection is closed.
    let all = u32::try_from(MOST_CONNECTIONS).unwrap_or(u32::MAX);
    let _ = tokio::time::timeout(FINISH_WITHIN, room.acquire_many(all)).await;
}

/// One connection; a peer that breaks off or writes no HTTP is nobody's failure.
async fn connection(stream: TcpStream, router: Router, mut stopped: watch::Receiver<()>) {
    // Answers are written whole, so there is nothing to wait for; refused, they are only slower.
    let _ = stream.set_nodelay(true);
    let mut served = std::pin::pin!(
        http1::Builder::new()
            .timer(TokioTimer::new())
            .header_read_timeout(HEAD_WITHIN)
            .max_buf_size(MOST_HEAD_BYTES)
            .serve_connection(TokioIo::new(stream), TowerToHyperService::new(router))
    );
    let mut stopping = false;
    let _ = tokio::time::timeout(LONGEST_CONNECTION, async {
        loop {
            tokio::select! {
                result = served.as_mut() => return result,
                _ = stopped.changed(), if !stopping => {
                    stopping = true;
                    served.as_mut().graceful_shutdown();
                }
            }
        }
    })
    .await;
}
