create table placeholder (x integer) strict;
