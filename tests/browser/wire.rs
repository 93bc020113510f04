//! The wire between a phone and the book: a network address of the house, and
//! every way in which it fails.
//!
//! The browser is told to look for the address on this machine, so nothing leaves
//! it; to the page it is plain HTTP on a local network, with all that a browser
//! withholds there.

use std::{
    net::SocketAddr,
    sync::{
        Arc, Mutex,
        atomic::{AtomicUsize, Ordering},
    },
};

use anyhow::Result;
use tokio::{
    io::{AsyncReadExt, AsyncWriteExt},
    net::{TcpListener, TcpStream},
    sync::watch,
};

/// An address of a network at home, as a router gives them out.
const LAN: &str = "192.168.7.2:4710";

/// What becomes of a request that sends something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    /// It arrives, and so does its answer.
    Passes,
    /// The connection breaks before the server has it.
    LostBefore,
    /// The server has it; its answer never comes.
    LostAfter,
    /// The connection breaks in the middle of the answer.
    CutShort,
}

/// Decides the fate of each request that sends something.
type Fates = Arc<Mutex<dyn FnMut() -> Fate + Send>>;

/// A wire that can be cut.
#[derive(Debug)]
pub struct Wire {
    port: u16,
    broken: Arc<AtomicUsize>,
    up: watch::Sender<bool>,
}

impl Wire {
    /// Lays a wire to a server.
    ///
    /// # Errors
    /// No port is free.
    pub async fn to(server: SocketAddr, fates: impl FnMut() -> Fate + Send + 'static) -> Result<Self> {
        let listener = TcpListener::bind("127.0.0.1:0").await?;
        let port = listener.local_addr()?.port();
        let fates: Fates = Arc::new(Mutex::new(fates));
        let broken = Arc::new(AtomicUsize::new(0));
        let up = watch::Sender::new(true);
        let (count, cut) = (broken.clone(), up.clone());
        tokio::spawn(async move {
            while let Ok((phone, _)) = listener.accept().await {
                let (fates, count, mut up) = (fates.clone(), count.clone(), cut.subscribe());
                tokio::spawn(async move {
                    tokio::select! {
                        // A wire that breaks is no fault of the one who uses it.
                        _ = carry(phone, server, fates, count) => (),
                        _ = up.wait_for(|up| !up) => (),
                    }
                });
            }
        });
        Ok(Self { port, broken, up })
    }

    /// Cuts every connection there is, and every new one, until it is mended.
    pub fn cut(&self) {
        self.up.send_replace(false);
    }

    /// Mends it.
    pub fn mend(&self) {
        self.up.send_replace(true);
    }

    /// How many requests it has broken.
    #[must_use]
    pub fn broken(&self) -> usize {
        self.broken.load(Ordering::SeqCst)
    }

    /// What a browser is to be started with, so that it uses this wire.
    #[must_use]
    pub fn flag(&self) -> String {
        format!("--host-resolver-rules=MAP {LAN} 127.0.0.1:{}", self.port)
    }

    /// A page's whole address at its end.
    #[must_use]
    pub fn page(path: &str) -> String {
        format!("http://{LAN}{path}")
    }
}

/// Carries one connection, request by request, until one of them meets its fate.
async fn carry(mut phone: TcpStream, server: SocketAddr, fates: Fates, broken: Arc<AtomicUsize>) -> Result<()> {
    let mut house = TcpStream::connect(server).await?;
    let (mut asked, mut answered) = (vec![0; 64 * 1024], vec![0; 64 * 1024]);
    let mut fate = Fate::Passes;
    loop {
        tokio::select! {
            read = phone.read(&mut asked) => {
                let read = read?;
                if read == 0 {
                    return Ok(());
                }
                if asked.starts_with(b"POST ") {
                    fate = fates.lock().map_or(Fate::Passes, |mut fates| fates());
                    broken.fetch_add(usize::from(fate != Fate::Passes), Ordering::SeqCst);
                }
                if fate == Fate::LostBefore {
                    return Ok(());
                }
                house.write_all(&asked[..read]).await?;
            }
            read = house.read(&mut answered) => {
                let read = read?;
                match fate {
                    // The server has done its work by now.
                    Fate::LostAfter => return Ok(()),
                    Fate::CutShort => {
                        phone.write_all(&answered[..read.min(40)]).await?;
                        return Ok(());
                    }
                    _ if read == 0 => return Ok(()),
                    _ => phone.write_all(&answered[..read]).await?,
                }
            }
        }
    }
}
