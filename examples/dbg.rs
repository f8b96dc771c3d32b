use hillwright::*;
fn main(){ let a:Vec<String>=std::env::args().collect();
 let b=std::fs::read(&a[1]).unwrap();
 for r in route::read(&b,&a[1]).unwrap(){
  let Ok(p)=profile::Profile::from_route(&r) else {continue};
  println!("{:?} len {} noise {:?} up/down {:?} spacing {}",r.name,r.length_m,p.noise,p.ascent_descent_m(),p.spacing_m);
  for q in climbs::turns::pieces(&p).pieces { println!("{:.2}-{:.2} {:.0}m {:.1}% se {:.2}", q.from as f64*p.spacing_m/1e3,q.to as f64*p.spacing_m/1e3,(q.to-q.from) as f64*p.spacing_m,q.grade*100.,q.grade_se*100.); }
 }}
