//! stub
use super::*;
#[derive(Debug)] pub enum OpeningError { Outside{index:usize}, Boolean(BooleanError) }
#[derive(Debug)] pub enum RoundingError { TooLarge{needed:f64, available:f64}, NoCorner }
pub fn cut_openings(_p:&Region,_o:&[Contour])->Result<Region,OpeningError>{todo!()}
pub fn round_corner(_c:&Contour,_i:usize,_r:f64,_t:Tag)->Result<Contour,RoundingError>{todo!()}
pub fn chamfer_corner(_c:&Contour,_i:usize,_r:f64,_t:Tag)->Result<Contour,RoundingError>{todo!()}
impl Contour { pub fn contains(&self,_p:Point2)->bool{false} }
