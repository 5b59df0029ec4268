//! temp
fn main() {
    for p in std::env::args().skip(1) {
        let s = std::fs::read_to_string(&p).unwrap();
        std::fs::write(
            p.replace(".svg", ".png"),
            aubergine_print::png(&s, 110.0).unwrap(),
        )
        .unwrap();
    }
}
