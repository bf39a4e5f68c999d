mod designs;
mod edges;
mod equivalent;
mod perennial;
mod speed;
mod trial;
mod whole;
