//! Room for so many connections.

use std::{
    collections::HashMap,
    net::IpAddr,
    sync::{Arc, Mutex, PoisonError},
};

/// Connections from the network, all together.
const MOST: usize = 256;
/// Connections from one address: a browser opens six, a household of browsers
/// behind one address some more.
const MOST_OF_ONE: usize = 64;

/// Who has how many connections open. The machine itself is not counted: it
/// always finds room.
#[derive(Clone, Debug, Default)]
pub(super) struct Places(Arc<Mutex<Taken>>);

#[derive(Debug, Default)]
struct Taken {
    all: usize,
    by: HashMap<IpAddr, usize>,
}

/// One connection's place; given back when it is dropped.
#[derive(Debug)]
pub(super) struct Place(Option<(Places, IpAddr)>);

impl Places {
    pub(super) fn take(&self, peer: IpAddr) -> Option<Place> {
        let peer = peer.to_canonical();
        if peer.is_loopback() {
            return Some(Place(None));
        }
        let mut taken = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let of_one = taken.by.get(&peer).copied().unwrap_or_default();
        if taken.all >= MOST || of_one >= MOST_OF_ONE {
            return None;
        }
        taken.all += 1;
        taken.by.insert(peer, of_one + 1);
        Some(Place(Some((self.clone(), peer))))
    }
}

impl Drop for Place {
    fn drop(&mut self) {
        let Some((places, peer)) = self.0.take() else { return };
        let mut taken = places.0.lock().unwrap_or_else(PoisonError::into_inner);
        taken.all -= 1;
        match taken.by.get_mut(&peer) {
            Some(count) if *count > 1 => *count -= 1,
            _ => drop(taken.by.remove(&peer)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn phone(number: u8) -> IpAddr {
        IpAddr::from([192, 168, 1, number])
    }

    #[test]
    fn one_address_takes_its_share_and_the_machine_always_finds_room() {
        let places = Places::default();
        let mut taken: Vec<Place> = (0..1000).filter_map(|_| places.take(phone(1))).collect();
        assert_eq!(taken.len(), MOST_OF_ONE);
        assert!(places.take("::ffff:192.168.1.1".parse().unwrap()).is_none(), "the same address in IPv6's clothes");
        taken.extend((2..=250).cycle().take(750).filter_map(|number| places.take(phone(number))));
        assert_eq!(taken.len(), MOST);
        let own: Vec<_> = (0..1000).filter_map(|_| places.take(IpAddr::from([127, 0, 0, 1]))).collect();
        assert_eq!(own.len(), 1000);
        drop(taken);
        assert!(places.0.lock().unwrap().by.is_empty());
        assert!(places.take(phone(1)).is_some());
    }
}
