//! Colour [Morey-1995, ASBC-Beer10].

use gylebook::science::colour;

use crate::table::{Score, Table};

#[test]
fn morey_with_the_trap_below_3_58() {
    // "Tolerance 0.01" in SRM; EBC is printed with the customary 1.97, ours is
    // 25/12.7, 0.08 % less; two places of print are 0.06 % at the palest.
    let mut srm = Score::new("colour by Morey (SRM)", 0.01);
    let mut ebc = Score::new("colour by Morey (share of EBC at 1.97)", 0.0014);
    for row in Table::read("08_colour.csv").rows() {
        let mcu = row.number("mcu");
        let ours = colour::morey(mcu).unwrap();
        if mcu < 3.58 {
            // The curve gives more than there is: ours follows the line instead.
            assert!(row.number("srm_morey") >= mcu);
            srm.check(ours.srm(), mcu, mcu);
        } else {
            srm.check(ours.srm(), row.number("srm_morey"), mcu);
            ebc.check(ours.ebc() / row.number("ebc_1.97"), 1.0, mcu);
        }
    }
    srm.end();
    ebc.end();
}
