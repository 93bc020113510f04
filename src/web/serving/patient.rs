//! A connection that waits only so long for the other side to take what it is sent.

use std::{
    future::Future,
    io,
    pin::Pin,
    task::{Context, Poll, ready},
    time::Duration,
};

use tokio::{
    io::{AsyncRead, AsyncWrite, ReadBuf},
    time::{Instant, Sleep, sleep_until},
};

/// How long nothing of an answer may be taken. An event stream says a word
/// every fifteen seconds, so a reader that is gone is noticed by it too.
const TAKE_WITHIN: Duration = Duration::from_secs(30);

/// A stream whose writes fail when nothing of them is taken in time.
pub(super) struct Patient<S> {
    stream: S,
    within: Duration,
    until: Option<Pin<Box<Sleep>>>,
}

impl<S: Unpin> Patient<S> {
    pub(super) fn new(stream: S) -> Self {
        Self { stream, within: TAKE_WITHIN, until: None }
    }

    fn stream(&mut self) -> Pin<&mut S> {
        Pin::new(&mut self.stream)
    }

    /// What the stream answered; where it has to wait, only until the time is up.
    fn in_time<T>(&mut self, context: &mut Context<'_>, answer: Poll<io::Result<T>>) -> Poll<io::Result<T>> {
        if answer.is_ready() {
            self.until = None;
            return answer;
        }
        let within = self.within;
        let until = self.until.get_or_insert_with(|| Box::pin(sleep_until(Instant::now() + within)));
        ready!(until.as_mut().poll(context));
        Poll::Ready(Err(io::ErrorKind::TimedOut.into()))
    }
}

impl<S: AsyncRead + Unpin> AsyncRead for Patient<S> {
    fn poll_read(mut self: Pin<&mut Self>, context: &mut Context<'_>, into: &mut ReadBuf<'_>) -> Poll<io::Result<()>> {
        self.stream().poll_read(context, into)
    }
}

impl<S: AsyncWrite + Unpin> AsyncWrite for Patient<S> {
    fn poll_write(mut self: Pin<&mut Self>, context: &mut Context<'_>, bytes: &[u8]) -> Poll<io::Result<usize>> {
        let answer = self.stream().poll_write(context, bytes);
        self.in_time(context, answer)
    }

    fn poll_write_vectored(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        bytes: &[io::IoSlice<'_>],
    ) -> Poll<io::Result<usize>> {
        let answer = self.stream().poll_write_vectored(context, bytes);
        self.in_time(context, answer)
    }

    fn is_write_vectored(&self) -> bool {
        self.stream.is_write_vectored()
    }

    fn poll_flush(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        let answer = self.stream().poll_flush(context);
        self.in_time(context, answer)
    }

    fn poll_shutdown(mut self: Pin<&mut Self>, context: &mut Context<'_>) -> Poll<io::Result<()>> {
        let answer = self.stream().poll_shutdown(context);
        self.in_time(context, answer)
    }
}

#[cfg(test)]
mod tests {
    use tokio::io::{AsyncReadExt, AsyncWriteExt, duplex};
    use tokio::time::timeout;

    use super::*;

    #[tokio::test]
    async fn a_reader_that_takes_nothing_is_given_up() {
        let (ours, mut theirs) = duplex(64);
        let mut patient = Patient { within: Duration::from_millis(20), ..Patient::new(ours) };
        patient.write_all(&[0; 64]).await.unwrap();
        let written = timeout(Duration::from_secs(20), patient.write_all(&[0; 64])).await;
        let failed = written.expect("it is given up").unwrap_err();
        assert_eq!(failed.kind(), io::ErrorKind::TimedOut);
        // One that takes something, however slowly, is not.
        theirs.read_exact(&mut [0; 64]).await.unwrap();
        patient.write_all(&[1; 64]).await.unwrap();
    }
}
