//! Readings out as tables and in again.

use axum::http::StatusCode;

use super::Visitor;

#[tokio::test]
async fn a_table_taken_out_can_be_taken_in() {
    let visitor = Visitor::keeper().await;
    let csv = visitor.get("/orders/1/readings.csv").await;
    assert_eq!(csv.headers["content-type"], "text/csv; charset=utf-8");
    let changed = csv.text().replace("54 1/8", "53 1/8");
    let page = visitor.post_file("/orders/1/table/file", "file", "r.csv", changed.as_bytes()).await;
    assert_eq!(page.status, StatusCode::OK, "{}", page.text());
    for guessed in
        ["value=\"pane\" selected", "value=\"reading\" selected", "value=\"words\" selected"]
    {
        assert_eq!(page.text().matches(guessed).count(), 1, "{guessed}");
    }
    let columns = [("column-1", "pane"), ("column-4", "reading"), ("column-5", "words")];
    let mut fields = vec![("table", changed.as_str())];
    fields.extend(columns);
    let saved = visitor.post("/orders/1/table", &fields).await;
    assert_eq!(saved.status, StatusCode::SEE_OTHER, "{}", saved.text());
    assert!(visitor.get("/orders/1/readings.csv").await.text().contains("53 1/8"));
}

#[tokio::test]
async fn everyday_names_are_understood_and_one_bad_line_saves_nothing() {
    let visitor = Visitor::keeper().await;
    let everyday = "What,Value\nHeight on the passenger side,53 1/8\n";
    let columns = [("column-0", "reading"), ("column-1", "words")];
    let fields = |table| [("table", table), columns[0], columns[1]];
    let saved = visitor.post("/orders/1/table", &fields(everyday)).await;
    assert_eq!(saved.status, StatusCode::SEE_OTHER, "{}", saved.text());
    let bad = "What,Value\noutside.height.left,50\noutside.height.centre,about so\n";
    let refused = visitor.post("/orders/1/table", &fields(bad)).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().contains("line 3 of the table"), "{}", refused.text());
    assert_eq!(visitor.store.order(1).await.expect("there").row.revision, 2);
}

#[tokio::test]
async fn everything_leaves_as_files_that_read_again() {
    let visitor = Visitor::keeper().await;
    let all = visitor.get("/workshop/everything.zip").await;
    let mut zip = zip::ZipArchive::new(std::io::Cursor::new(all.body)).expect("a ZIP");
    let mut n_orders = 0;
    for i in 0..zip.len() {
        let mut file = zip.by_index(i).expect("a file");
        let name = file.name().to_owned();
        let mut bytes = Vec::new();
        std::io::Read::read_to_end(&mut file, &mut bytes).expect("read");
        if name.starts_with("orders/") {
            shop::read_order(&bytes, &name).expect("an order file");
            n_orders += 1;
        }
    }
    assert_eq!(n_orders, 6, "three orders, each as TOML and JSON");
}
