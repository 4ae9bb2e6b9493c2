"""The reviewer's desk: a page of this machine alone, on which a leg is made right afterwards."""
