module panelwright

go 1.26
