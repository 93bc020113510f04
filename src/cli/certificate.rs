//! The certificate for `serve --tls`: the one that is given, or one made here.
//!
//! One made here is signed by nobody. A phone warns of it once; what it then
//! shows has to be the fingerprint that was printed, or somebody stands between.

use std::fs::{self, File};
use std::io::Write;
use std::path::Path;
use std::sync::Arc;
use std::time::Duration;

use anyhow::{Context, anyhow};
use rcgen::{CertificateParams, DnType, KeyPair};
use sha2::{Digest, Sha256};
use time::OffsetDateTime;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivateKeyDer, pem::PemObject};

const DAY: Duration = Duration::from_secs(24 * 60 * 60);
/// Some devices refuse a certificate that is good for more than 825 days.
const GOOD_FOR: Duration = DAY.saturating_mul(800);
/// One made here is made anew so long before it runs out.
const ANEW_BEFORE: Duration = DAY.saturating_mul(30);

/// A certificate ready to be used, and what its owner has to know of it.
pub(super) struct Certificate {
    pub(super) config: Arc<ServerConfig>,
    /// Of one made here: its SHA-256, as browsers show it.
    pub(super) fingerprint: Option<String>,
}

/// The certificate in these two files.
pub(super) fn given(certificate: &Path, key: &Path) -> anyhow::Result<Certificate> {
    let (config, _) = read(certificate, key)?;
    Ok(Certificate { config, fingerprint: None })
}

/// The certificate kept beside the data file, made where there is none that is good.
pub(super) fn own(data: &Path, names: Vec<String>) -> anyhow::Result<Certificate> {
    let (certificate, key) = (data.with_extension("cert.pem"), data.with_extension("key.pem"));
    if !(is_good(&certificate) && key.exists()) {
        make(&certificate, &key, names)
            .with_context(|| format!("No certificate could be made for --tls beside {}", data.display()))?;
    }
    let (config, first) = read(&certificate, &key)?;
    let digits: Vec<_> = Sha256::digest(&first).iter().map(|byte| format!("{byte:02X}")).collect();
    Ok(Certificate { config, fingerprint: Some(digits.join(":")) })
}

/// Whether one that was made here is still good for a while.
fn is_good(certificate: &Path) -> bool {
    let made = fs::metadata(certificate).and_then(|file| file.modified());
    made.is_ok_and(|made| made.elapsed().is_ok_and(|age| age < GOOD_FOR - ANEW_BEFORE))
}

fn make(certificate: &Path, key: &Path, names: Vec<String>) -> anyhow::Result<()> {
    let mut params = CertificateParams::new(names)?;
    params.distinguished_name.push(DnType::CommonName, "Gylebook");
    let now = OffsetDateTime::now_utc();
    // A phone's clock may be behind.
    (params.not_before, params.not_after) = (now - DAY, now + GOOD_FOR);
    let pair = KeyPair::generate()?;
    let signed = params.self_signed(&pair)?;
    if let Some(folder) = key.parent() {
        fs::create_dir_all(folder)?;
    }
    // The key first: a certificate without its key would look good and be none.
    write_for_the_owner_alone(key, &pair.serialize_pem())?;
    fs::write(certificate, signed.pem())?;
    Ok(())
}

fn write_for_the_owner_alone(path: &Path, text: &str) -> anyhow::Result<()> {
    // One that lies there may be readable by others.
    let _ = fs::remove_file(path);
    let mut new = File::options();
    new.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut new, 0o600);
    Ok(new.open(path)?.write_all(text.as_bytes())?)
}

fn read(certificate: &Path, key: &Path) -> anyhow::Result<(Arc<ServerConfig>, CertificateDer<'static>)> {
    let unusable = |file: &Path, why: String| {
        anyhow!("{} can't be used for --tls ({why}). PEM files are needed, with --cert and --key.", file.display())
    };
    let chain: Result<Vec<_>, _> = CertificateDer::pem_file_iter(certificate).and_then(Iterator::collect);
    let chain = chain.map_err(|why| unusable(certificate, why.to_string()))?;
    let first = chain.first().cloned().ok_or_else(|| unusable(certificate, "no certificate is in it".into()))?;
    let secret = PrivateKeyDer::from_pem_file(key).map_err(|why| unusable(key, why.to_string()))?;
    let mut config = ServerConfig::builder_with_provider(Arc::new(ring::default_provider()))
        .with_safe_default_protocol_versions()?
        .with_no_client_auth()
        .with_single_cert(chain, secret)
        .map_err(|why| unusable(certificate, why.to_string()))?;
    config.alpn_protocols = vec![b"http/1.1".to_vec()];
    Ok((Arc::new(config), first))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_is_made_once_and_its_key_is_for_the_owner_alone() {
        let folder = tempfile::tempdir().unwrap();
        let data = folder.path().join("book.db");
        let names = || vec!["localhost".into(), "192.168.1.20".into()];
        let first = own(&data, names()).unwrap().fingerprint.unwrap();
        assert_eq!(first.len(), 95);
        assert_eq!(own(&data, names()).unwrap().fingerprint.unwrap(), first, "the same at the next start");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            let mode = fs::metadata(folder.path().join("book.key.pem")).unwrap().permissions().mode();
            assert_eq!(mode & 0o777, 0o600);
        }
        fs::remove_file(folder.path().join("book.key.pem")).unwrap();
        assert_ne!(own(&data, names()).unwrap().fingerprint.unwrap(), first, "without its key it is no use");
        assert!(given(&data, &data).is_err());
    }
}
