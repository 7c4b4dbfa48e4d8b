//! Photos from strangers' phones, made safe: decoded within limits, turned upright, and encoded anew.
//!
//! What is kept is the picture alone. Everything a camera writes beside it (place, time, serial
//! number, preview) and everything somebody may have hidden behind it is gone, since only pixels
//! pass. The kind of file is told from its bytes, never from its name or what the sender says of it.

use std::io::Cursor;

use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use image::{DynamicImage, ImageDecoder, ImageReader, Limits};

use crate::error::Oops;

/// Most bytes of one photo as it comes. Chosen by us: phones' largest are about 12 MB.
pub(crate) const MOST_BYTES: usize = 16_000_000;
/// Most pixels along a side, and bytes while decoding. Chosen by us: 50 megapixels and some room.
const MOST_PIXELS: u32 = 12_000;
const MOST_DECODED: u64 = 200_000_000;
/// Longest side of what is kept, in pixels: a tape's sixteenths can be read on it.
const KEPT: u32 = 2000;
/// JPEG quality of what is kept.
const QUALITY: u8 = 84;

/// A photo as it is kept.
#[derive(Debug)]
pub(crate) struct Upright {
    pub(crate) jpeg: Vec<u8>,
    pub(crate) size: (u32, u32),
}

/// Reads a photo and encodes its pixels anew.
pub(crate) fn upright(bytes: &[u8]) -> Result<Upright, Oops> {
    let unfit = |why: &dyn std::fmt::Display| {
        Oops::Entered(format!(
            "this is no photo that can be used ({why}); send a JPEG, PNG or WebP picture, or take a \
             screenshot of it and send that"
        ))
    };
    let mut reader = ImageReader::new(Cursor::new(bytes))
        .with_guessed_format()
        .map_err(|error| unfit(&error))?;
    let mut limits = Limits::default();
    limits.max_image_width = Some(MOST_PIXELS);
    limits.max_image_height = Some(MOST_PIXELS);
    limits.max_alloc = Some(MOST_DECODED);
    reader.limits(limits);
    let mut decoder = reader.into_decoder().map_err(|error| unfit(&error))?;
    let turned = decoder.orientation().map_err(|error| unfit(&error))?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(|error| unfit(&error))?;
    if picture.width().max(picture.height()) > KEPT {
        picture = picture.resize(KEPT, KEPT, FilterType::Triangle);
    }
    picture.apply_orientation(turned);
    let picture = picture.into_rgb8();
    let mut jpeg = Vec::new();
    JpegEncoder::new_with_quality(&mut jpeg, QUALITY)
        .encode_image(&picture)
        .map_err(|error| unfit(&error))?;
    Ok(Upright { jpeg, size: picture.dimensions() })
}

#[cfg(test)]
mod tests {
    use image::ImageFormat;

    use super::*;

    /// A picture whose left half is dark, in a format.
    fn picture(width: u32, height: u32, format: ImageFormat) -> Vec<u8> {
        let mut picture = image::RgbImage::from_pixel(width, height, image::Rgb([220, 220, 220]));
        for (x, _, pixel) in picture.enumerate_pixels_mut() {
            if x < width / 2 {
                *pixel = image::Rgb([20, 20, 20]);
            }
        }
        let mut bytes = Cursor::new(Vec::new());
        DynamicImage::from(picture).write_to(&mut bytes, format).expect("encoded");
        bytes.into_inner()
    }

    /// A JPEG with an Exif segment that says how the camera was held, and carries some words.
    fn with_exif(jpeg: &[u8], orientation: u8, words: &[u8]) -> Vec<u8> {
        // TIFF header, one entry (0x0112, SHORT, 1, value), no next directory: Exif 2.32, 4.6.
        let mut tiff = b"Exif\0\0MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01\0".to_vec();
        tiff.extend([orientation, 0, 0, 0, 0, 0, 0]);
        tiff.extend(words);
        let length = u16::try_from(tiff.len() + 2).expect("short");
        let mut out = jpeg[..2].to_vec();
        out.extend([0xff, 0xe1]);
        out.extend(length.to_be_bytes());
        out.extend(&tiff);
        out.extend(&jpeg[2..]);
        out
    }

    #[test]
    fn nothing_but_pixels_passes() {
        let plain = picture(60, 40, ImageFormat::Jpeg);
        let sent = with_exif(&plain, 1, b"taken at 52.1 N 4.3 E");
        let kept = upright(&sent).expect("a photo");
        let has = |bytes: &[u8], what: &[u8]| bytes.windows(what.len()).any(|w| w == what);
        assert!(has(&sent, b"52.1 N"));
        assert!(!has(&kept.jpeg, b"52.1 N") && !has(&kept.jpeg, b"Exif"));
    }

    #[test]
    fn a_phone_held_upright_gives_an_upright_picture() {
        // Orientation 6: the camera was turned a quarter clockwise (Exif 2.32, table 4-6).
        let sent = with_exif(&picture(60, 40, ImageFormat::Jpeg), 6, b"");
        let kept = upright(&sent).expect("a photo");
        assert_eq!(kept.size, (40, 60));
        let pixels = image::load_from_memory(&kept.jpeg).expect("a JPEG").into_rgb8();
        assert!(pixels.get_pixel(20, 5)[0] < 60, "the dark half is on top now");
        assert!(pixels.get_pixel(20, 55)[0] > 180);
    }

    #[test]
    fn large_photos_are_made_smaller() {
        let kept = upright(&picture(2600, 1300, ImageFormat::Png)).expect("a photo");
        assert_eq!(kept.size, (2000, 1000));
    }

    #[test]
    fn what_is_no_photo_is_refused() {
        let page = b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>";
        let cut = &picture(60, 40, ImageFormat::Png)[..60];
        let mut vast = picture(60, 40, ImageFormat::Png);
        // A PNG's width stands 16 bytes in; the check sum after it is then wrong as well.
        vast[16..20].copy_from_slice(&60_000_u32.to_be_bytes());
        for bytes in [&page[..], cut, &vast, b"", b"MZ\x90\0"] {
            let error = upright(bytes).expect_err("no photo").to_string();
            assert!(error.contains("send a JPEG"), "{error}");
        }
    }
}
